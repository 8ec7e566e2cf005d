//! How duties come out of pins. The player ends in a frame, a duty a channel; what is made of it is a drive's.
//! Whoever wants to know of the PWM asks the drive.

mod pwm;
pub mod timer;

use serde::Serialize;

use crate::chip::Pin;
use crate::diagnostic::Notes;
use crate::spec::{Active, Project};
use crate::target::{Claims, ClockPlan, PortMask, Target, Write};
use crate::units::{Bytes, Cycles, Duty, Hertz};

pub use pwm::{PwmPlan, Shape};
use timer::{PumpPlan, TimerDrive};

/// A drive as it is planned for a project.
#[derive(Debug, Clone, PartialEq)]
pub enum Drive {
    /// Outputs of timers, whose PWM an interrupt deepens.
    Timer(Box<TimerDrive>),
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

impl Drive {
    /// The drive for a project's channels. `None` after adding an error.
    pub fn choose<'a>(
        target: Target,
        project: &'a Project,
        clock: Option<&ClockPlan>,
        claims: &mut Claims<'a>,
        notes: &mut Notes,
    ) -> Option<Self> {
        let timer = TimerDrive::plan(target, project, clock, claims, notes)?;
        Some(Self::Timer(Box::new(timer)))
    }

    /// Where it is timers' outputs.
    pub fn timer(&self) -> Option<&TimerDrive> {
        match self {
            Self::Timer(timer) => Some(timer),
        }
    }

    /// With vectors of others in use as well, by number.
    pub fn among(self, target: Target, others: impl Iterator<Item = u8>) -> Self {
        match self {
            Self::Timer(timer) => Self::Timer(Box::new(timer.among(target.chip, others))),
        }
    }

    /// What disconnects all outputs from what makes their light, so that the ports rule.
    pub fn quiet(&self, target: Target) -> Vec<Write> {
        match self {
            Self::Timer(timer) => timer.quiet(target.chip),
        }
    }

    /// By [`ChannelId`](crate::spec::ChannelId).
    pub fn channels(&self) -> &[ChannelPlan] {
        match self {
            Self::Timer(timer) => &timer.channels,
        }
    }

    pub fn pwm(&self) -> &PwmPlan {
        match self {
            Self::Timer(timer) => &timer.pwm,
        }
    }

    /// The course of a pin while a duty is shown, until it comes round: all that is known of the light in time
    /// follows from it.
    pub fn shown(&self, duty: Duty) -> Vec<Pulse> {
        match self {
            Self::Timer(timer) => timer.shown(duty),
        }
    }

    /// The slowest component of a duty's light. `None`: in the dark.
    pub fn slowest(&self, duty: Duty) -> Option<Hertz> {
        match self {
            Self::Timer(timer) => timer.dither.slowest(duty, timer.pwm.frequency),
        }
    }

    pub fn pump(&self) -> Option<&PumpPlan> {
        match self {
            Self::Timer(timer) => timer.pump.as_ref(),
        }
    }

    /// Data direction bits of all pins that it drives, by port.
    pub fn directions(&self) -> &[PortMask] {
        match self {
            Self::Timer(timer) => &timer.directions,
        }
    }

    /// The interrupts that do its work, by vector; the first comes once a period.
    pub fn handlers(&self) -> &[Handler] {
        match self {
            Self::Timer(timer) => std::slice::from_ref(&timer.handler),
        }
    }

    /// Whether that interrupt's code is not at its vector: others follow too close.
    pub fn is_apart(&self) -> bool {
        match self {
            Self::Timer(timer) => timer.apart.is_some(),
        }
    }

    /// What that interrupt takes, in a firmware in C.
    pub fn cost(&self) -> Cost {
        match self {
            Self::Timer(timer) => timer.cost,
        }
    }

    /// All that is written into registers before the light begins.
    pub fn written(&self) -> impl Iterator<Item = &Write> {
        match self {
            Self::Timer(timer) => timer.written(),
        }
    }

    /// What of that can be written again at any time.
    pub fn lasting(&self) -> impl Iterator<Item = &Write> {
        match self {
            Self::Timer(timer) => timer.lasting(),
        }
    }
}
