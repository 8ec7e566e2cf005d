//! What the pins and the package can carry.

use serde::Deserialize;

use crate::units::{Amps, Ohms, Share, Volts};

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Electrical {
    /// Highest supply the chip works at; beyond `absolute_volts` it breaks.
    pub volts: Volts,
    pub absolute_volts: Volts,
    /// Absolute maximum through one pin, either way.
    pub pin: Amps,
    /// What the datasheet's own output levels are tested at, at 5 V.
    pub pin_tested: Amps,
    /// Absolute maximum through VCC and through GND.
    pub package: Amps,
    /// The sum over all pins up to which the datasheet's output levels hold.
    pub total_tested: Amps,
    /// A pin's pull-up, least and most.
    pub pull_up: [Ohms; 2],
    pub output: OutputResistance,
    /// What the chip itself draws at 8 MHz and 5 V, at most, while it works and in idle sleep.
    pub active: Amps,
    pub idle: Amps,
    pub power_down: PowerDown,
    /// How far the internal oscillator may be off as delivered, either way.
    pub oscillator_error: Share,
}

/// What a chip draws in power-down, at 3 V and up to 85 °C.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PowerDown {
    /// With everything off, at most.
    pub still: Amps,
    /// More with the watchdog running, at most.
    pub watchdog: Amps,
    /// More with the brown-out detector on, typically: datasheets only draw it.
    pub brown_out: Amps,
}

/// Resistance of a pin that drives, typical, read off the datasheet's curves.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OutputResistance {
    pub at_5_volts: Ohms,
    pub at_3_volts: Ohms,
}
