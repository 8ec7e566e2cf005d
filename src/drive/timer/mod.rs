//! Outputs of timers. All timers run 8-bit PWM with TOP 255, one prescaler and in phase, so that one
//! overflow interrupt serves them all. Depth beyond 8 bits is spread over time by that interrupt, see
//! [`Timing`].

mod channels;
mod dither;
mod pump;
mod pwm;
mod registers;
mod text;
mod timers;

use super::ports::{directions, ports};
use super::pump::PumpPlan;
use super::{Common, Cost, Pulse, Way};
use crate::chip::{Chip, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{Channel, Project};
use crate::target::{Claims, ClockPlan, Target, Write};
use crate::units::{Cycles, Duty};

pub use channels::OutputPlan;
pub(super) use channels::{Place, Placed, assign, of_channel, output, place};
pub use dither::{Dither, Split};
pub(super) use pwm::offers;
pub use pwm::{Mode, Timing};
pub use registers::{Keeper, Lamp, Registers, Shelter, WORK};
pub(super) use text::pump_text;
pub use text::{PumpText, TEMPLATES};
pub use timers::{StartPlan, TimerPlan, interrupt};
pub(super) use timers::{disconnected, set_up, used};

/// Channels on the outputs of timers.
#[derive(Debug, Clone, PartialEq)]
pub struct TimerDrive {
    pub common: Common,
    /// What each channel is on, but for plain ones.
    pub outputs: Vec<OutputPlan>,
    /// The timers in use, lowest number first; the first one's interrupt does all the work.
    pub timers: Vec<TimerPlan>,
    pub timing: Timing,
    pub dither: Dither,
    pub registers: Registers,
}

impl TimerDrive {
    /// `None` after adding an error.
    pub(super) fn plan<'a>(
        target: Target,
        project: &'a Project,
        clock: Option<&ClockPlan>,
        claims: &mut Claims<'a>,
        notes: &mut Notes,
    ) -> Option<Self> {
        let chip = target.chip;
        let placed = channels::place(chip, project, claims, notes);
        if project.channels.iter().all(Channel::is_plain) {
            notes.add(none_dimmed(project));
            return None;
        }
        let (clock, Placed { channels, outputs }) = clock.zip(placed)?;
        let used = timers::used(chip, &outputs);
        let timing = pwm::choose(clock, &used, project, notes)?;
        let pwm = timing.plan();
        let pump = pump::choose(target, project, claims, &pwm, notes);
        let placed = Placed { channels, outputs };
        Some(Self::of(target, placed, timing, pump, text::HANDLER))
    }

    /// On these outputs; `handler`: the template of its interrupt.
    pub(super) fn of(
        target: Target,
        placed: Placed,
        timing: Timing,
        pump: Option<PumpPlan>,
        handler: &'static str,
    ) -> Self {
        let chip = target.chip;
        let Placed { channels, outputs } = placed;
        let used = timers::used(chip, &outputs);
        let (timers, start) = timers::set_up(chip, &used, &outputs, &timing);
        let (handler, mut kept_out) = interrupt(chip, &used[0].overflow, handler);
        let toggling = pump.as_ref().and_then(PumpPlan::toggling);
        let by_xor = toggling.is_some_and(|pump| pump.toggle.by_xor);
        let others = channels
            .iter()
            .filter(|one| !matches!(one.way, Way::Output(_)));
        let others: Vec<Pin> = others.map(|channel| channel.pin).collect();
        let own = used.iter().map(|timer| timer.number);
        kept_out.extend(disconnected(chip, own, &others));
        let pins = channels.iter().map(|channel| channel.pin);
        let pumped = pump.iter().flat_map(|pump| &pump.pins).map(|pin| pin.pin);
        let mut drive = Self {
            registers: Registers::new(outputs.len(), by_xor),
            dither: Dither::new(timing.extra_bits),
            common: Common {
                directions: directions(target, pins.chain(pumped)),
                latched: ports(target, &channels, Way::Latch),
                channels,
                pwm: timing.plan(),
                start,
                pump,
                handlers: vec![handler],
                kept_out,
                cost: Cost::default(),
            },
            outputs,
            timers,
            timing,
        };
        drive.common.cost = drive.counted(Keeper::Registers);
        drive.common.handlers[0].size = drive.common.cost.size;
        drive
    }

    /// Whether a compare value of 0 lights a channel for a whole period.
    pub fn is_full_at_zero(&self, way: Way) -> bool {
        let mut outputs = self.outputs.iter();
        let own = outputs.find(|output| way == Way::Output(output.output));
        let mut timers = self.timers.iter();
        own.is_some_and(|own| timers.any(|timer| timer.number == own.timer && timer.full_at_zero))
    }

    /// The course of a pin over a cycle of the dither.
    pub(super) fn shown(&self, duty: Duty) -> Vec<Pulse> {
        let count = self.timing.per_count().0;
        let period = self.timing.cycles().0;
        let pulse = |on: u8| Pulse {
            on: Cycles(count * u32::from(on)),
            off: Cycles(period - count * u32::from(on)),
        };
        self.dither.counts(duty).map(pulse).collect()
    }
}

impl TimerDrive {
    /// What disconnects all outputs from the timers.
    pub(super) fn quiet(&self, chip: &'static Chip) -> Vec<Write> {
        let setup = self.timers.iter().flat_map(|timer| &timer.setup);
        let connects = |write: &&Write| write.bits.iter().any(|bit| bit.starts_with("COM"));
        setup
            .chain(&self.common.start.go)
            .filter(connects)
            .map(|write| Write::number(chip, write.register, 0))
            .chain(self.common.latched.iter().map(|port| port.dark(chip)))
            .collect()
    }
}

fn none_dimmed(project: &Project) -> Diagnostic {
    let message = "no channel is dimmed, and nothing is for the timers to do";
    Diagnostic::error("C034", project.pwm.drive.span, message)
        .label("expected `drive: port`, or a channel that is not plain")
        .hint("left out, the drive is chosen to suit")
}
