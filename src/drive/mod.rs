//! How duties come out of pins. The player ends in a frame, a duty a channel; what is made of it is a drive's.
//! Whoever wants to know of the PWM asks the drive.

pub mod timer;

use serde::Serialize;

use crate::diagnostic::Notes;
use crate::spec::Project;
use crate::target::{Claims, ClockPlan, PortMask, Target, Write};
use crate::units::{Bytes, Cycles};

use timer::{ChannelPlan, Dither, PumpPlan, PwmPlan, TimerDrive};

/// A drive as it is planned for a project.
#[derive(Debug, Clone, PartialEq)]
pub enum Drive {
    /// Outputs of timers, whose PWM an interrupt deepens.
    Timer(Box<TimerDrive>),
}

/// An interrupt that the firmware handles.
#[derive(Debug, Clone, PartialEq)]
pub struct Handler {
    /// As avr-libc names it.
    pub vector: &'static str,
    pub number: u8,
    /// Lets it through.
    pub enable: Write,
    /// The template of its code.
    pub text: &'static str,
}

/// What an interrupt's code takes, counted in its text.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
pub struct Cost {
    pub size: Bytes,
    /// From the interrupt to its return, at its longest, where the processor is awake.
    pub cycles: Cycles,
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

    /// How fractions of a count are spread over time.
    pub fn dither(&self) -> Dither {
        match self {
            Self::Timer(timer) => timer.dither,
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
