//! Transistors, as far as their speed goes.

use serde::Deserialize;

use crate::units::{Coulombs, Farads, Ohms, Seconds, Volts};

/// A transistor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Device {
    Bipolar(Bipolar),
    Mosfet(Mosfet),
}

impl Device {
    /// `None`: it is of another kind.
    pub fn bipolar(self) -> Option<Bipolar> {
        match self {
            Self::Bipolar(part) => Some(part),
            Self::Mosfet(_) => None,
        }
    }
}

/// What a part's makers call it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Family {
    Npn,
    Darlington,
    Mosfet,
}

/// A bipolar transistor: charges on the way from off to saturated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bipolar {
    /// Base to emitter, of a transistor that carries 10 mA.
    pub base_emitter: Volts,
    /// Into the base before any current flows: its junctions' capacitance.
    pub delay: Coulombs,
    /// Between collector and base: must be moved for every volt that the collector moves.
    pub miller: Farads,
    /// Charge in the base per ampere through the collector.
    pub transit: Seconds,
    /// Time constant with which a saturated base loses its charge.
    pub storage: Seconds,
    /// Collector current over base current at the edge of saturation.
    pub gain: f64,
    /// In series with the base, within the part.
    pub built_in: Ohms,
    /// From base to emitter, within the part; infinite: nothing.
    pub shunt: Ohms,
    /// How many base-emitter junctions lie one after the other: 2 in a Darlington.
    pub junctions: f64,
}

/// A MOSFET.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mosfet {
    /// Of the gate, where the LED has half of its light.
    pub threshold: Volts,
    /// Of the gate below the threshold.
    pub below: Farads,
    /// Of the gate above it.
    pub above: Farads,
    /// Of the drain: charged through the LED after the gate is off, by as much as the drain moves.
    pub output: Farads,
}
