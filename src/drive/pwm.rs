//! What the PWM of a drive comes to.

use super::timer::Mode;
use crate::units::{Cycles, Hertz};

/// What whoever asks a drive for its PWM needs to know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PwmPlan {
    pub shape: Shape,
    /// Of one period.
    pub frequency: Hertz,
    /// Of the processor, in a period.
    pub length: Cycles,
    /// On-counts that mean the whole period: 256 or 255.
    pub whole: u16,
    /// Bits of depth beyond 8: 0 to 8.
    pub extra_bits: u8,
    /// The slowest component of the light at any level.
    pub slowest: Hertz,
}

/// How a period is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One pulse, by a timer.
    Pulse(Mode),
    /// A plane for each bit of a code, by an interrupt that writes ports.
    BitAngle,
}

impl Shape {
    pub fn word(self) -> &'static str {
        match self {
            Self::Pulse(Mode::Fast) => "fast",
            Self::Pulse(Mode::PhaseCorrect) => "phase-correct",
            Self::BitAngle => "bit-angle",
        }
    }
}

impl PwmPlan {
    /// From one period to the next.
    pub fn cycles(&self) -> Cycles {
        self.length
    }

    /// Bits of depth.
    pub fn bits(&self) -> u8 {
        8 + self.extra_bits
    }
}
