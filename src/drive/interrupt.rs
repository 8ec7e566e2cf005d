//! The interrupt of a drive, and what it takes.

use serde::Serialize;

use crate::target::Write;
use crate::units::{Bytes, Cycles};

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
