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

use std::collections::BTreeMap;

use super::{ChannelPlan, Cost, Handler, Pulse, PwmPlan};
use crate::chip::Chip;
use crate::diagnostic::Notes;
use crate::spec::Project;
use crate::target::{Claims, ClockPlan, PortMask, Target, Write};
use crate::units::{Cycles, Duty};

pub use channels::OutputPlan;
pub(super) use channels::place;
pub use dither::{Dither, Split};
pub use pump::PumpPlan;
pub use pwm::{Mode, Timing};
pub use registers::{Keeper, Lamp, Registers, Shelter, WORK};
pub use text::{TEMPLATES, Text};
pub use timers::{StartPlan, TimerPlan, interrupt};

/// Channels on the outputs of timers.
#[derive(Debug, Clone, PartialEq)]
pub struct TimerDrive {
    /// By [`ChannelId`](crate::spec::ChannelId).
    pub channels: Vec<ChannelPlan>,
    /// What each of them is on.
    pub outputs: Vec<OutputPlan>,
    /// The timers in use, lowest number first; the first one's interrupt does all the work.
    pub timers: Vec<TimerPlan>,
    pub start: StartPlan,
    pub timing: Timing,
    pub pwm: PwmPlan,
    pub dither: Dither,
    pub registers: Registers,
    pub pump: Option<PumpPlan>,
    /// Data direction bits of all that it drives, by port.
    pub directions: Vec<PortMask>,
    pub handler: Handler,
    /// What the jump at its vector takes. `None`: the interrupt's code is there, as no vector that is used
    /// follows.
    pub apart: Option<Cycles>,
    /// Keep the interrupts of other timers out, where they have registers of their own: a boot loader may
    /// have left one on.
    pub kept_out: Vec<Write>,
    pub cost: Cost,
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
        let outputs = channels::place(chip, project, claims, notes);
        let (clock, outputs) = clock.zip(outputs)?;
        let used = timers::used(chip, &outputs);
        let timing = pwm::choose(clock, &used, project, notes)?;
        let pwm = timing.plan();
        let pump = pump::choose(target, project, claims, &pwm, notes);
        let (timers, start) = timers::set_up(chip, &used, &outputs, &timing);
        let (handler, kept_out) = interrupt(chip, &used[0].overflow, text::HANDLER);
        let by_xor = pump.as_ref().is_some_and(|pump| pump.toggle.by_xor);
        let mut drive = Self {
            registers: Registers::new(outputs.len(), by_xor),
            dither: Dither::new(pwm.extra_bits),
            directions: directions(target, &outputs, pump.as_ref()),
            channels: outputs.iter().map(OutputPlan::channel).collect(),
            outputs,
            timers,
            start,
            timing,
            pwm,
            pump,
            handler,
            apart: None,
            kept_out,
            cost: Cost::default(),
        };
        drive.cost = drive.counted(Keeper::Registers);
        Some(drive)
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
    /// With vectors of others in use as well, by number.
    pub(super) fn among(mut self, chip: &Chip, mut others: impl Iterator<Item = u8>) -> Self {
        let followed = others.any(|other| other > self.handler.number);
        self.apart = followed.then(|| chip.vectors.jump());
        self.cost = self.counted(Keeper::Registers);
        self
    }

    /// What disconnects all outputs from the timers.
    pub(super) fn quiet(&self, chip: &'static Chip) -> Vec<Write> {
        let setup = self.timers.iter().flat_map(|timer| &timer.setup);
        let connects = |write: &&Write| write.bits.iter().any(|bit| bit.starts_with("COM"));
        setup
            .chain(&self.start.go)
            .filter(connects)
            .map(|write| Write::number(chip, write.register, 0))
            .collect()
    }
}

/// The data direction bits of all that is driven, by port.
fn directions(target: Target, channels: &[OutputPlan], pump: Option<&PumpPlan>) -> Vec<PortMask> {
    let pumped = pump
        .iter()
        .flat_map(|pump| pump.pins.iter().map(|pin| pin.pin));
    let mut masks: BTreeMap<char, u8> = BTreeMap::new();
    for pin in channels.iter().map(|channel| channel.pin).chain(pumped) {
        *masks.entry(pin.port).or_default() |= pin.mask();
    }
    let mask = |(port, mask)| PortMask {
        port,
        register: target.direction(port),
        mask,
    };
    masks.into_iter().map(mask).collect()
}
