//! What a project says of a string's transistor.

use crate::units::{Amps, Farads, Seconds, Volts};

/// What switches a string.
#[derive(Debug, Clone, PartialEq)]
pub enum Transistor {
    /// As written; `circuit` knows whether it exists.
    Named(String),
    Sheet(Sheet),
}

/// What the datasheet of a transistor says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sheet {
    Bipolar(BipolarFigures),
    Mosfet(MosfetFigures),
}

/// Of a small NPN.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BipolarFigures {
    /// Storage time, the most.
    pub storage: Seconds,
    /// At this collector current…
    pub collector: Amps,
    /// …with this current into the base, and then out of it: more than `collector` over `hfe`.
    pub base: Amps,
    /// Gain, the least.
    pub hfe: f64,
    /// Emitter to base.
    pub input: Farads,
    /// Collector to base.
    pub output: Farads,
}

/// Of a MOSFET.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MosfetFigures {
    /// Of the gate, typically.
    pub threshold: Volts,
    /// Of the gate.
    pub input: Farads,
    /// Of the drain.
    pub output: Farads,
}
