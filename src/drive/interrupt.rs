//! The interrupt of a drive, and what it takes.

use serde::Serialize;

use crate::target::{Target, Write};
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
    /// What its code takes, in a firmware in C.
    pub size: Bytes,
    /// What the jump at its vector takes. `None`: its code is there, as no vector that is used follows too close.
    pub apart: Option<Cycles>,
}

impl Handler {
    /// With all vectors that are used, by number.
    pub(super) fn among(&mut self, target: Target, used: &[u8]) {
        let vectors = &target.chip.vectors;
        let next = used.iter().filter(|other| **other > self.number).min();
        let room = next.map(|next| u32::from(next - self.number) * vectors.size.0);
        let followed = room.is_some_and(|room| room < self.size.0);
        self.apart = followed.then(|| vectors.jump());
    }
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
    /// The share of the processor where it is awake.
    pub fn share(self, period: Cycles) -> f64 {
        f64::from(self.busy.0) / f64::from(period.0)
    }

    /// Both of them, of which the first is the longer.
    pub(super) fn and(self, other: Self) -> Self {
        Self {
            size: Bytes(self.size.0 + other.size.0),
            longest: self.longest,
            times: self.times + other.times,
            busy: Cycles(self.busy.0 + other.busy.0),
        }
    }

    /// Without one of the two.
    pub fn without(self, other: Self) -> Self {
        Self {
            size: Bytes(self.size.0 - other.size.0),
            longest: self.longest,
            times: self.times - other.times,
            busy: Cycles(self.busy.0 - other.busy.0),
        }
    }

    /// The share of the processor where each comes out of sleep.
    pub fn share_with_waking(self, period: Cycles) -> f64 {
        f64::from(self.with_waking().0) / f64::from(period.0)
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
