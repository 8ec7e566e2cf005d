//! A charge pump's clock from the interrupt of a timer that the light leaves free, on any two pins of a port that the
//! light leaves alone.
//!
//! The interrupt changes both pins by one write, without a look at what they were, and touches no flag. Its timer
//! counts with that of the slots: it comes [`AFTER`] a slot's interrupt, when even the longest of those, which shows
//! the shortest planes, is over, and is done before the next. So neither ever waits for the other.

use super::FIRST_SLOT;
use super::pump::PumpTimer;
use super::slots::{self, PRESCALER, SlotTimer};
use crate::chip::{Pin, Timer};
use crate::diagnostic::Notes;
use crate::drive::pump::{self, PumpBy, PumpPlan, Toggling};
use crate::drive::pwm::{listed, off};
use crate::drive::{Handler, PortPlan, timer};
use crate::spec::ChargePump;
use crate::target::{Claims, ClockPlan, Target};
use crate::units::{Cycles, Hertz};

/// The interrupt, and the label with which it begins.
pub(super) const HANDLER: &str = "drive/port/pump.S";
const LABEL: &str = "pump";

/// Cycles from where a slot's interrupt is due to where this one is.
const AFTER: u32 = 96;

/// The longest half of a clock, in first slots: as far as eight bits count.
const MOST: u32 = 256 * PRESCALER as u32 / FIRST_SLOT;

/// A timer that is free, and two pins of a port.
pub(super) struct Spare {
    timer: SlotTimer,
    pins: [Pin; 2],
    toggling: Toggling,
}

/// `ports`: those that the light is shown on; `is_free`: whether the light leaves a timer.
pub(super) fn choose(
    target: Target,
    claims: &Claims,
    ports: &[PortPlan],
    is_free: impl Fn(&Timer) -> bool,
) -> Option<Spare> {
    let [first, second] = claims.pump?;
    let timer = self::timer(target, ports, is_free)?;
    let alone = ports.iter().all(|port| port.letter != first.port);
    (first.port == second.port && alone).then(|| Spare {
        timer,
        pins: [first, second],
        toggling: Toggling {
            mask: first.mask() | second.mask(),
            every: 1,
            toggle: target.toggle(first.port),
            within: false,
        },
    })
}

/// The timer that would do it. With two ports every register is taken, and older chips change no two pins by one
/// write.
pub(super) fn timer(
    target: Target,
    ports: &[PortPlan],
    is_free: impl Fn(&Timer) -> bool,
) -> Option<SlotTimer> {
    let possible = ports.len() == 1 && target.chip.pin_toggles;
    let timer = slots::clearing(target.chip, is_free).next();
    timer.filter(|_| possible)
}

impl Spare {
    /// The timer's number.
    pub(super) fn number(&self) -> u8 {
        self.timer.timer.number
    }

    pub(super) fn plan(
        &self,
        target: Target,
        asked: &ChargePump,
        clock: &ClockPlan,
        notes: &mut Notes,
    ) -> PumpTimer {
        let made = |slots: u32| Hertz(clock.frequency.0 / f64::from(2 * slots * FIRST_SLOT));
        let wish = asked.clock.map_or(made(2), |wish| wish.value);
        let far = |slots: &u32| off(made(*slots), wish);
        let slots = (1..=MOST).min_by(|a, b| far(a).total_cmp(&far(b)));
        let slots = slots.unwrap_or(2);
        let possible = listed([1, 2, 3, 4].into_iter().map(made));
        let others = format!("it can be {possible} and so on");
        pump::compare(asked, made(slots), others, notes);
        let counts = FIRST_SLOT / u32::from(PRESCALER);
        let preset = (FIRST_SLOT - AFTER) / u32::from(PRESCALER);
        let top = slots * counts - 1;
        let (timer, start) = self.timer.set_up(target.chip, top as u8, preset as u8);
        let (handler, _) = timer::interrupt(target.chip, self.timer.matched, HANDLER);
        let pump = PumpPlan {
            pins: self.pins.map(|pin| target.pin(pin)),
            clock: made(slots),
            half: Cycles(slots * FIRST_SLOT),
            by: PumpBy::Spare(self.toggling),
        };
        let go = start.go.into_iter().next().expect("a timer has a clock");
        let handler = Some(Handler {
            label: LABEL,
            ..handler
        });
        PumpTimer {
            pump,
            timer,
            go,
            handler,
        }
    }
}
