//! Where the processor's clock can come from.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::Pin;
use crate::units::{Hertz, Share, Volts};

/// Up to this clock from this supply voltage on.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpeedGrade {
    pub volts: Volts,
    pub hertz: Hertz,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clocks {
    /// The internal oscillators; the first is the one a project gets that asks for none.
    pub internal: Vec<Oscillator>,
    /// By lowest frequency. Empty: no crystal.
    #[serde(default)]
    pub crystal: Vec<CrystalRange>,
    /// XTAL1 and XTAL2, where they are also port pins.
    #[serde(default)]
    pub crystal_pins: Vec<Pin>,
    /// An external clock signal, and the pin it goes in at where that is also a port pin.
    pub external: FuseBits,
    #[serde(default)]
    pub external_pin: Option<Pin>,
    /// `CLKPR` divides the clock by 1 to 256 at run time.
    pub prescaler: bool,
}

/// An internal oscillator.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Oscillator {
    pub hertz: Hertz,
    pub fuses: FuseBits,
    /// `None`: reset loads the calibration that the factory measured for this frequency.
    #[serde(default)]
    pub uncalibrated: Option<Uncalibrated>,
}

/// An oscillator that runs on the calibration of another frequency until the firmware writes its own.
#[derive(Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Uncalibrated {
    /// Where its own calibration is among those that a programmer reads, from 0.
    pub byte: u8,
    /// How far it may be off until then, either way.
    pub error: Share,
}

/// Crystals from `from` up to `to` want these fuses.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CrystalRange {
    pub from: Hertz,
    pub to: Hertz,
    pub fuses: FuseBits,
    /// The same with the oscillator driven from rail to rail, which takes more current and is less
    /// easily disturbed. `None`: there is no such choice.
    #[serde(default)]
    pub full_swing: Option<FuseBits>,
}

/// The fuse bits that choose a clock and its start-up time: byte name → (bits concerned, values).
pub type FuseBits = BTreeMap<String, [u8; 2]>;

impl Clocks {
    /// What this pin is to the clock.
    pub(super) fn functions(&self, pin: Pin) -> Vec<String> {
        let mut names = Vec::new();
        if let Some(index) = self.crystal_pins.iter().position(|&crystal| crystal == pin) {
            names.push(format!("XTAL{}", index + 1));
        }
        if self.external_pin == Some(pin) {
            names.push("CLKI".to_string());
        }
        names
    }
}
