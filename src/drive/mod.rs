//! How duties come out of pins. The player ends in a frame, a duty a channel; what is made of it is a drive's.
//! Whoever wants to know of the PWM asks the drive.

/// A template of the drives, by name.
macro_rules! template {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/templates/avr/",
                $name,
                ".j2"
            ))
            .trim_ascii_end(),
        )
    };
}

mod channel;
mod choice;
mod common;
mod interrupt;
pub mod mixed;
mod plain;
pub mod port;
mod ports;
mod pump;
mod pwm;
mod text;
pub mod timer;

use crate::diagnostic::Notes;
use crate::spec::Project;
use crate::target::{Claims, ClockPlan, PortMask, Target, Write};
use crate::units::{Bytes, Cycles, Duty, Hertz};

pub use channel::{ChannelPlan, Way};
use choice::Choice;
pub use common::Common;
pub use interrupt::{Cost, ENTRY, Handler, WAKING};
use mixed::MixedDrive;
use port::{Planes, PortDrive, Timed};
pub use ports::PortPlan;
pub use pump::{PumpBy, PumpPlan, Toggling};
pub use pwm::{PwmPlan, Shape};
pub use text::{TEMPLATES, Text};
use timer::{Keeper, StartPlan, TimerDrive, TimerPlan};

/// A drive as it is planned for a project.
#[derive(Debug, Clone, PartialEq)]
pub enum Drive {
    /// Outputs of timers, whose PWM an interrupt deepens.
    Timer(Box<TimerDrive>),
    /// Any pins of a port or two, written by an interrupt.
    Port(Box<PortDrive>),
    /// Both, from one interrupt.
    Mixed(Box<MixedDrive>),
}

/// A pin that is on, and then off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pulse {
    pub on: Cycles,
    pub off: Cycles,
}

impl Drive {
    /// The drive for a project's channels: the outputs of timers, where all channels have one, and else ports;
    /// or the one that the project asks for. `None` after adding an error.
    pub fn choose<'a>(
        target: Target,
        project: &'a Project,
        clock: Option<&ClockPlan>,
        claims: &mut Claims<'a>,
        notes: &mut Notes,
    ) -> Option<Self> {
        match choice::choose(target, project, claims) {
            Choice::Timer => {
                let timer = TimerDrive::plan(target, project, clock, claims, notes)?;
                Some(Self::Timer(Box::new(timer)))
            }
            Choice::Port(why) => {
                let port = PortDrive::plan(target, project, clock, claims, why, notes)?;
                Some(Self::Port(Box::new(port)))
            }
            Choice::Mixed(why) => {
                let mixed = MixedDrive::plan(target, project, clock, claims, why, notes)?;
                Some(Self::Mixed(Box::new(mixed)))
            }
        }
    }

    fn common(&self) -> &Common {
        match self {
            Self::Timer(timer) => &timer.common,
            Self::Port(port) => &port.common,
            Self::Mixed(mixed) => &mixed.timer.common,
        }
    }

    fn common_mut(&mut self) -> &mut Common {
        match self {
            Self::Timer(timer) => &mut timer.common,
            Self::Port(port) => &mut port.common,
            Self::Mixed(mixed) => &mut mixed.timer.common,
        }
    }

    /// The timers whose outputs are channels.
    pub fn timer(&self) -> Option<&TimerDrive> {
        match self {
            Self::Timer(timer) => Some(timer),
            Self::Port(_) => None,
            Self::Mixed(mixed) => Some(&mixed.timer),
        }
    }

    /// The planes in which ports are shown, and those ports.
    pub fn planes(&self) -> Option<(Planes, &[PortPlan])> {
        match self {
            Self::Timer(_) => None,
            Self::Port(port) => Some((port.planes, &port.ports)),
            Self::Mixed(mixed) => Some((mixed.planes, &mixed.ports)),
        }
    }

    /// Why it is not timers' outputs alone. `None`: it is.
    pub fn why(&self) -> Option<&str> {
        match self {
            Self::Timer(_) => None,
            Self::Port(port) => Some(&port.why),
            Self::Mixed(mixed) => Some(&mixed.why),
        }
    }

    /// With vectors of others in use as well, by number.
    pub fn among(mut self, target: Target, others: impl Iterator<Item = u8>) -> Self {
        let own = self.common().handlers.iter().map(|handler| handler.number);
        let used: Vec<u8> = own.chain(others).collect();
        let handlers = self.common_mut().handlers.iter_mut();
        handlers.for_each(|handler| handler.among(target, &used));
        self.common_mut().cost = self.counted(Keeper::Registers);
        self
    }

    /// What the interrupts take, by who keeps what they need.
    pub fn counted(&self, keeper: Keeper) -> Cost {
        match self {
            Self::Timer(timer) => timer.counted(keeper),
            Self::Port(port) => port.counted(keeper),
            Self::Mixed(mixed) => mixed.counted(keeper),
        }
    }

    /// What ends the light: outputs are disconnected from what makes it, or no interrupt comes any more, and
    /// what the ports then hold keeps the strings dark.
    pub fn quiet(&self, target: Target) -> Vec<Write> {
        match self {
            Self::Timer(timer) => timer.quiet(target.chip),
            Self::Port(port) => port.quiet(target.chip),
            Self::Mixed(mixed) => mixed.quiet(target.chip),
        }
    }

    /// By [`ChannelId`](crate::spec::ChannelId).
    pub fn channels(&self) -> &[ChannelPlan] {
        &self.common().channels
    }

    pub fn pwm(&self) -> &PwmPlan {
        &self.common().pwm
    }

    /// The course of a channel's pin while a duty is shown, until it comes round: all that is known of the
    /// light in time follows from it.
    pub fn shown(&self, channel: usize, duty: Duty) -> Vec<Pulse> {
        match (self.channels()[channel].way, self.timer(), self.planes()) {
            (Way::Output(_), Some(timer), _) => timer.shown(duty),
            (Way::Planes, _, Some((planes, _))) => planes.shown(duty),
            _ => {
                let whole = self.pwm().length;
                let [on, off] = match duty {
                    Duty(0) => [Cycles(0), whole],
                    _ => [whole, Cycles(0)],
                };
                vec![Pulse { on, off }]
            }
        }
    }

    /// On-counts that mean the whole period on a channel: 256 or 255.
    pub fn whole(&self, channel: usize) -> u16 {
        match self.channels()[channel].way {
            Way::Output(_) => self.pwm().whole,
            Way::Planes | Way::Latch => 255,
        }
    }

    /// The slowest component of a duty's light, on whatever channel. `None`: in the dark.
    pub fn slowest(&self, duty: Duty) -> Option<Hertz> {
        match self {
            Self::Timer(timer) => timer.dither.slowest(duty, self.pwm().frequency),
            Self::Port(_) | Self::Mixed(_) => (duty.0 > 0).then_some(self.pwm().slowest),
        }
    }

    pub fn pump(&self) -> Option<&PumpPlan> {
        self.common().pump.as_ref()
    }

    /// Data direction bits of all pins that it drives, by port.
    pub fn directions(&self) -> &[PortMask] {
        &self.common().directions
    }

    /// The interrupts that do its work, by vector.
    pub fn handlers(&self) -> &[Handler] {
        &self.common().handlers
    }

    /// What lets them through, each register once.
    pub fn enables(&self) -> Vec<&Write> {
        self.common().enables()
    }

    /// What they take, in a firmware in C.
    pub fn cost(&self) -> Cost {
        self.common().cost
    }

    /// What the pump's interrupt takes of it. `None`: it has none of its own.
    pub fn pumping(&self) -> Option<Cost> {
        match self {
            Self::Port(port) => port.pumping(Keeper::Registers),
            Self::Timer(_) | Self::Mixed(_) => None,
        }
    }

    /// The shortest time from one of its interrupts to the next: each must be served within it.
    pub fn patience(&self) -> Cycles {
        let planes = self.planes().map(|(planes, _)| Cycles(planes.first()));
        planes.unwrap_or(self.pwm().length)
    }

    /// Interrupts that others may have left on, and what else must be off.
    pub fn kept_out(&self) -> &[Write] {
        &self.common().kept_out
    }

    /// The timers in use, and what is written into each before it is set going.
    pub fn set_up(&self) -> Vec<(&TimerPlan, Vec<&Write>)> {
        match self {
            Self::Timer(timer) => timer.set_up(),
            Self::Port(port) => port.set_up(),
            Self::Mixed(mixed) => mixed.set_up(),
        }
    }

    /// How those are set going.
    pub fn start(&self) -> &StartPlan {
        &self.common().start
    }

    /// The counts that must be written before.
    pub fn presets(&self) -> Vec<&Write> {
        match self {
            Self::Timer(timer) => timer.presets().collect(),
            Self::Port(port) => port.presets().collect(),
            Self::Mixed(mixed) => mixed.timer.presets().collect(),
        }
    }

    /// All that is written into registers before the light begins.
    pub fn written(&self) -> Vec<&Write> {
        let start = &self.common().start;
        let set_up = self.set_up().into_iter().flat_map(|(_, writes)| writes);
        set_up
            .chain(self.presets())
            .chain(&start.reset)
            .chain(&start.go)
            .chain(self.kept_out())
            .chain(self.enables())
            .collect()
    }

    /// What of that can be written again at any time: all that makes the timers run and their interrupt come.
    /// Numbers are counts, or what all high bytes go through.
    pub fn lasting(&self) -> Vec<&Write> {
        let start = &self.common().start;
        let set_up = self.set_up().into_iter().flat_map(|(_, writes)| writes);
        let lasting = set_up.filter(|write| self.timer().is_some() || !write.bits.is_empty());
        let all = lasting.chain(&start.go).chain(self.enables());
        all.filter(|write| write.lasts()).collect()
    }

    /// The last register that the interrupt keeps from the compiler, by number.
    pub fn last_register(&self) -> u8 {
        match self {
            Self::Timer(timer) => timer.registers.range().1,
            Self::Port(port) => port.registers().last(),
            Self::Mixed(mixed) => mixed.registers().last(),
        }
    }

    /// What the interrupt puts out, in memory; in a firmware in C.
    pub fn in_memory(&self) -> Bytes {
        let lamps = match self {
            Self::Timer(timer) if timer.registers.lamps.is_some() => 0,
            _ => self.timer().map_or(0, |timer| 2 * timer.outputs.len()),
        };
        let planes = self.planes().map_or(0, |(planes, _)| 2 * planes.bytes());
        Bytes(lamps as u32 + planes)
    }

    /// What the interrupt needs besides in memory, where it owns no registers.
    pub fn state(&self) -> Bytes {
        let state = |(planes, _): (Planes, _)| match planes.by {
            Timed::Slots => 5 + u32::from(planes.ports),
            Timed::Overflows => 7,
        };
        Bytes(self.planes().map_or(0, state))
    }

    /// What it has in flash besides its code.
    pub fn in_tables(&self) -> Bytes {
        let Some((planes, _)) = self.planes() else {
            return Bytes(0);
        };
        let put_out = self.channels().iter().filter(|one| one.way != Way::Latch);
        let each = if planes.has_wide_pins() { 2 } else { 1 };
        Bytes(put_out.count() as u32 * each)
    }

    /// What a port puts out in the dark, by the register of its latch.
    pub fn rest(&mut self, register: &str, value: u8) {
        let ports: &mut [PortPlan] = match self {
            Self::Timer(_) => &mut [],
            Self::Port(port) => &mut port.ports,
            Self::Mixed(mixed) => &mut mixed.ports,
        };
        let own = |port: &&mut PortPlan| port.register == register;
        ports
            .iter_mut()
            .filter(own)
            .for_each(|port| port.rest = value);
        let latched = self.common_mut().latched.iter_mut();
        latched.filter(own).for_each(|port| port.rest = value);
    }

    /// The ports of which the player sets and clears pins.
    pub fn latched(&self) -> &[PortPlan] {
        &self.common().latched
    }

    /// How often the player goes through a loop of the drive's in a tick, by its label. `None`: it is none.
    pub fn rounds(&self, label: &str) -> Option<u32> {
        let (planes, _) = self.planes()?;
        let sliced = self.channels().iter().filter(|one| one.way == Way::Planes);
        planes.rounds(label, sliced.count() as u32)
    }

    /// With the names of its channels.
    pub fn text<'a>(&self, names: impl Iterator<Item = &'a str>, keeper: Keeper) -> Text {
        match self {
            Self::Timer(timer) => timer.text(names, keeper),
            Self::Port(port) => port.text(names, keeper),
            Self::Mixed(mixed) => mixed.text(names, keeper),
        }
    }
}
