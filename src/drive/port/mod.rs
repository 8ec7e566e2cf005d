//! Any pins of one port or two, by bit-angle modulation: a timer's interrupt shows the bits of all codes one
//! after the other, each for as long as it weighs ([`Planes`]). A frame is shown whole, from one of two
//! buffers: the interrupt takes a new one only where a frame begins, and the player fills the other.

mod clocking;
mod pins;
mod planes;
pub(super) mod pump;
pub(super) mod pwm;
mod slots;
mod spare;
pub(super) mod text;

use super::ports::{PortPlan, directions, ports};
use super::timer::{self, Keeper, TimerPlan};
use super::{Common, Cost, Handler, Way};
use crate::chip::{Chip, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{Project, PwmMode};
use crate::target::{Claims, ClockPlan, Target, Write};

use clocking::Clocking;
pub(super) use pins::reaches;
pub use planes::{FIRST_SLOT, OVERFLOW, Planes, Timed};
pub use pump::{HALF, PumpTimer};
pub use text::{PortText, Registers, TEMPLATES};

/// Channels on pins of ports.
#[derive(Debug, Clone, PartialEq)]
pub struct PortDrive {
    pub common: Common,
    /// Those whose latches are written, one of them or two.
    pub ports: Vec<PortPlan>,
    pub planes: Planes,
    /// The timer of the slots.
    pub timer: TimerPlan,
    /// The timer's register of how long a slot is.
    pub compare: &'static str,
    /// The timer of the pump.
    pub pump: Option<PumpTimer>,
    /// Why it is not timers' outputs.
    pub why: String,
}

impl PortDrive {
    /// `why`: this drive, and no other. `None` after adding an error.
    pub(super) fn plan<'a>(
        target: Target,
        project: &'a Project,
        clock: Option<&ClockPlan>,
        claims: &mut Claims<'a>,
        why: String,
        notes: &mut Notes,
    ) -> Option<Self> {
        let chip = target.chip;
        if project.pwm.mode.value != PwmMode::Auto {
            notes.add(no_mode(project));
        }
        let named = claims.clone();
        let channels = pins::place(chip, project, claims, notes);
        let (clock, channels) = clock.zip(channels)?;
        let latched = ports(target, &channels, Way::Latch);
        let ports = ports(target, &channels, Way::Planes);
        let clocking = Clocking::choose(target, claims, &ports);
        let slots = slots::choose(chip, |timer| !clocking.takes(timer))?;
        let deepest = Planes::deepest(ports.len() as u8);
        let planes = pwm::choose(clock, deepest, project, project.pwm.frequency, notes)?;
        let (timer, mut start) = slots.set_up(chip, slots::FIRST, 0);
        let pump = clocking.plan(target, project, (&named, &ports, &why), clock, notes);
        start.go.extend(pump.iter().map(|pump| pump.go.clone()));
        let (handler, mut kept_out) = timer::interrupt(chip, slots.matched, text::HANDLER);
        let pumping = pump.iter().flat_map(|pump| pump.handler.clone());
        let handlers: Vec<Handler> = [handler].into_iter().chain(pumping).collect();
        let handlers = enabled_together(chip, handlers);
        let enabled = |write: &Write| {
            let mut enables = handlers.iter().map(|handler| &handler.enable);
            enables.any(|enable| enable.register == write.register)
        };
        kept_out.retain(|write| !enabled(write));
        let pump_pins = pump.iter().flat_map(|by| &by.pump.pins);
        let pins = pump_pins.map(|pin| pin.pin);
        let pins: Vec<Pin> = pins
            .chain(channels.iter().map(|channel| channel.pin))
            .collect();
        let pump_timer = pump.iter().map(|pump| pump.timer.number);
        let own = [slots.timer.number].into_iter().chain(pump_timer);
        kept_out.extend(timer::disconnected(chip, own, &pins));
        let mut drive = Self {
            common: Common {
                directions: directions(target, pins.iter().copied()),
                latched,
                channels,
                pwm: pwm::plan(clock, planes),
                start,
                pump: pump.as_ref().map(|pump| pump.pump.clone()),
                handlers,
                kept_out,
                cost: Cost::default(),
            },
            ports,
            planes,
            timer,
            pump,
            compare: slots.compare,
            why,
        };
        drive.common.cost = drive.counted(Keeper::Registers);
        let sizes = drive.each(Keeper::Registers).map(|cost| cost.size);
        for (handler, size) in drive.common.handlers.iter_mut().zip(sizes) {
            handler.size = size;
        }
        Some(drive)
    }

    /// Keeps the interrupts out, which would go on with the planes, and then has the strings dark.
    pub(super) fn quiet(&self, chip: &'static Chip) -> Vec<Write> {
        let still = self.common.still(chip).into_iter();
        let latches = self.ports.iter().chain(&self.common.latched);
        let dark = latches.map(|port| port.dark(chip));
        let pumping = self.pump.iter().flat_map(|pump| pump.quiet(chip));
        still.chain(pumping).chain(dark).collect()
    }

    /// The counts that must be written before the timers are set going: two interrupts keep in step.
    pub(super) fn presets(&self) -> impl Iterator<Item = &Write> {
        let spare = self.pump.iter().filter(|pump| pump.handler.is_some());
        spare.flat_map(|pump| [&self.timer.preset, &pump.timer.preset])
    }

    /// The timers in use, and what is written into each before it gets its clock.
    pub(super) fn set_up(&self) -> Vec<(&TimerPlan, Vec<&Write>)> {
        let started = |write: &Write| {
            let mut go = self.common.start.go.iter();
            write.value == 0 && go.any(|go| go.register == write.register)
        };
        let pump = self.pump.iter().map(|pump| &pump.timer);
        let timers = [&self.timer].into_iter().chain(pump);
        timers
            .map(|timer| {
                let setup = timer.setup.iter();
                (timer, setup.filter(|write| !started(write)).collect())
            })
            .collect()
    }

    /// `bit-angle on port B`.
    pub fn title(&self) -> String {
        let letters: Vec<String> = self
            .ports
            .iter()
            .map(|port| port.letter.to_string())
            .collect();
        let ports = if letters.len() == 1 { "port" } else { "ports" };
        format!("bit-angle on {ports} {}", letters.join(" and "))
    }
}

/// Those whose bits are in one register let each other through.
fn enabled_together(chip: &'static Chip, mut handlers: Vec<Handler>) -> Vec<Handler> {
    let enables: Vec<Write> = handlers.iter().map(|one| one.enable.clone()).collect();
    for handler in &mut handlers {
        let register = handler.enable.register;
        let same = enables.iter().filter(|other| other.register == register);
        let bits: Vec<&str> = same.flat_map(|other| other.bits.iter().copied()).collect();
        handler.enable = Write::bits(chip, register, &bits);
    }
    handlers
}

/// Whether the pump, if there is one, can be clocked beside this drive.
pub(super) fn clocks(target: Target, project: &Project, claims: &Claims) -> bool {
    if project.charge_pump.is_none() {
        return true;
    }
    let mut claims = claims.clone();
    let placed = pins::place(target.chip, project, &mut claims, &mut Notes::default());
    placed.is_none_or(|channels| {
        let ports = ports(target, &channels, Way::Planes);
        !matches!(Clocking::choose(target, &claims, &ports), Clocking::Nothing)
    })
}

fn no_mode(project: &Project) -> Diagnostic {
    let message = "a `mode` is for PWM pins, and the channels are on pins of a port";
    Diagnostic::error("C023", project.pwm.mode.span, message)
        .label("expected no `mode`")
        .hint("leave it out, or use PWM pins alone")
}
