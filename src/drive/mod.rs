//! How duties come out of pins. The player ends in a frame, a duty a channel; what is made of it is a drive's.
//! Whoever wants to know of the PWM asks the drive.

mod choice;
pub mod port;
mod pwm;
mod text;
pub mod timer;

use serde::Serialize;

use crate::chip::Pin;
use crate::diagnostic::Notes;
use crate::spec::{Active, Project};
use crate::target::{Claims, ClockPlan, PortMask, Target, Write};
use crate::units::{Bytes, Cycles, Duty, Hertz};

use choice::Choice;
use port::PortDrive;
pub use pwm::{PwmPlan, Shape};
use timer::{Keeper, PumpPlan, StartPlan, TimerDrive, TimerPlan};

/// A drive as it is planned for a project.
#[derive(Debug, Clone, PartialEq)]
pub enum Drive {
    /// Outputs of timers, whose PWM an interrupt deepens.
    Timer(Box<TimerDrive>),
    /// Any pins of a port or two, written by an interrupt.
    Port(Box<PortDrive>),
}

/// A channel's pin.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelPlan {
    pub pin: Pin,
    pub active: Active,
    /// The timer's output that it is, `OC0A`. `None`: a pin of a port.
    pub output: Option<&'static str>,
}

impl ChannelPlan {
    /// By what it is driven, in a word.
    pub fn driven_by(&self) -> &'static str {
        self.output.unwrap_or("port")
    }
}

/// A pin that is on, and then off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pulse {
    pub on: Cycles,
    pub off: Cycles,
}

/// An interrupt that the firmware handles.
#[derive(Debug, Clone, PartialEq)]
pub struct Handler {
    /// As avr-libc names it.
    pub vector: &'static str,
    pub number: u8,
    /// Lets it through.
    pub enable: Write,
    /// The template of its code, and the label with which that begins.
    pub text: &'static str,
    pub label: &'static str,
}

/// What an interrupt's code takes, counted in its text.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Cost {
    pub size: Bytes,
    /// From the interrupt to its return, at its longest, where the processor is awake.
    pub longest: Cycles,
    /// How many times it comes in a period.
    pub times: u32,
    /// What all of them take of a period.
    pub busy: Cycles,
}

impl Cost {
    /// The share of the processor where it is awake, and where each comes out of sleep.
    pub fn share(self, period: Cycles) -> f64 {
        f64::from(self.busy.0) / f64::from(period.0)
    }

    /// What all of a period take out of sleep.
    pub fn with_waking(self) -> Cycles {
        Cycles(self.busy.0 + self.times * WAKING.0)
    }
}

/// What an interrupt takes more out of idle sleep, from which most of them come (datasheets, 'Interrupt
/// Response Time').
pub const WAKING: Cycles = Cycles(4);

/// From the interrupt to its first instruction (datasheets: four clock cycles at least).
pub const ENTRY: Cycles = Cycles(4);

/// The drive in words and numbers, as its templates want them.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub enum Text {
    Timer(timer::Text),
    Port(port::Text),
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
        }
    }

    /// Where it is timers' outputs.
    pub fn timer(&self) -> Option<&TimerDrive> {
        match self {
            Self::Timer(timer) => Some(timer),
            Self::Port(_) => None,
        }
    }

    /// With vectors of others in use as well, by number.
    pub fn among(self, target: Target, others: impl Iterator<Item = u8>) -> Self {
        match self {
            Self::Timer(timer) => Self::Timer(Box::new(timer.among(target.chip, others))),
            Self::Port(_) => self,
        }
    }

    /// What disconnects all outputs from what makes their light, so that the ports rule.
    pub fn quiet(&self, target: Target) -> Vec<Write> {
        match self {
            Self::Timer(timer) => timer.quiet(target.chip),
            Self::Port(_) => Vec::new(),
        }
    }

    /// By [`ChannelId`](crate::spec::ChannelId).
    pub fn channels(&self) -> &[ChannelPlan] {
        match self {
            Self::Timer(timer) => &timer.channels,
            Self::Port(port) => &port.channels,
        }
    }

    pub fn pwm(&self) -> &PwmPlan {
        match self {
            Self::Timer(timer) => &timer.pwm,
            Self::Port(port) => &port.pwm,
        }
    }

    /// The course of a pin while a duty is shown, until it comes round: all that is known of the light in time
    /// follows from it.
    pub fn shown(&self, duty: Duty) -> Vec<Pulse> {
        match self {
            Self::Timer(timer) => timer.shown(duty),
            Self::Port(port) => port.planes.shown(duty),
        }
    }

    /// The slowest component of a duty's light. `None`: in the dark.
    pub fn slowest(&self, duty: Duty) -> Option<Hertz> {
        match self {
            Self::Timer(timer) => timer.dither.slowest(duty, timer.pwm.frequency),
            Self::Port(port) => (duty.0 > 0).then_some(port.pwm.frequency),
        }
    }

    pub fn pump(&self) -> Option<&PumpPlan> {
        match self {
            Self::Timer(timer) => timer.pump.as_ref(),
            Self::Port(_) => None,
        }
    }

    /// Data direction bits of all pins that it drives, by port.
    pub fn directions(&self) -> &[PortMask] {
        match self {
            Self::Timer(timer) => &timer.directions,
            Self::Port(port) => &port.directions,
        }
    }

    /// The interrupts that do its work, by vector.
    pub fn handlers(&self) -> &[Handler] {
        match self {
            Self::Timer(timer) => std::slice::from_ref(&timer.handler),
            Self::Port(port) => std::slice::from_ref(&port.handler),
        }
    }

    /// Whether that interrupt's code is not at its vector: others follow too close.
    pub fn is_apart(&self) -> bool {
        match self {
            Self::Timer(timer) => timer.apart.is_some(),
            Self::Port(_) => false,
        }
    }

    /// What that interrupt takes, in a firmware in C.
    pub fn cost(&self) -> Cost {
        match self {
            Self::Timer(timer) => timer.cost,
            Self::Port(port) => port.cost,
        }
    }

    /// The shortest time from one of its interrupts to the next: each must be served within it.
    pub fn patience(&self) -> Cycles {
        match self {
            Self::Timer(timer) => timer.pwm.length,
            Self::Port(port) => port.patience(),
        }
    }

    /// Interrupts that others may have left on, and what else must be off.
    pub fn kept_out(&self) -> &[Write] {
        match self {
            Self::Timer(timer) => &timer.kept_out,
            Self::Port(port) => &port.kept_out,
        }
    }

    /// The timers in use, and what is written into each before it is set going.
    pub fn set_up(&self) -> Vec<(&TimerPlan, Vec<&Write>)> {
        match self {
            Self::Timer(timer) => {
                let timers = timer.timers.iter();
                timers
                    .map(|one| (one, timer.set_up(one).collect()))
                    .collect()
            }
            Self::Port(port) => vec![(&port.timer, port.set_up().collect())],
        }
    }

    /// How those are set going.
    pub fn start(&self) -> &StartPlan {
        match self {
            Self::Timer(timer) => &timer.start,
            Self::Port(port) => &port.start,
        }
    }

    /// The counts that must be written before.
    pub fn presets(&self) -> Vec<&Write> {
        match self {
            Self::Timer(timer) => timer.presets().collect(),
            Self::Port(_) => Vec::new(),
        }
    }

    /// All that is written into registers before the light begins.
    pub fn written(&self) -> Vec<&Write> {
        match self {
            Self::Timer(timer) => timer.written().collect(),
            Self::Port(port) => port.written().collect(),
        }
    }

    /// What of that can be written again at any time.
    pub fn lasting(&self) -> Vec<&Write> {
        match self {
            Self::Timer(timer) => timer.lasting().collect(),
            Self::Port(port) => port.lasting().collect(),
        }
    }

    /// The last register that the interrupt keeps from the compiler, by number.
    pub fn last_register(&self) -> u8 {
        match self {
            Self::Timer(timer) => timer.registers.range().1,
            Self::Port(port) => port.registers().last(),
        }
    }

    /// What the interrupt puts out, in memory; in a firmware in C.
    pub fn in_memory(&self) -> Bytes {
        match self {
            Self::Timer(timer) if timer.registers.lamps.is_some() => Bytes(0),
            Self::Timer(timer) => Bytes(2 * timer.outputs.len() as u32),
            Self::Port(port) => Bytes(2 * u32::from(port.planes.bits * port.planes.ports)),
        }
    }

    /// What it has in flash besides its code.
    pub fn in_tables(&self) -> Bytes {
        match self {
            Self::Timer(_) => Bytes(0),
            Self::Port(port) => Bytes((port.channels.len() * port.ports.len()) as u32),
        }
    }

    /// What a port puts out in the dark, by the register of its latch.
    pub fn rest(&mut self, register: &str, value: u8) {
        match self {
            Self::Timer(_) => {}
            Self::Port(port) => port.rest(register, value),
        }
    }

    /// How often the player goes through a loop of the drive's in a tick, by its label. `None`: it is none.
    pub fn rounds(&self, label: &str) -> Option<u32> {
        match self {
            Self::Timer(_) => None,
            Self::Port(port) => port.rounds(label),
        }
    }

    /// With the names of its channels.
    pub fn text<'a>(&self, names: impl Iterator<Item = &'a str>, keeper: Keeper) -> Text {
        match self {
            Self::Timer(timer) => Text::Timer(timer::Text::new(timer, names, keeper)),
            Self::Port(port) => Text::Port(port::Text::new(port, names, keeper)),
        }
    }
}
