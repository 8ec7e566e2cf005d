//! The analogue-to-digital converter.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::pin::Pin;
use super::timer::Bits;
use crate::units::{Amps, Volts};

/// A converter of ten bits, of which the high eight can be read at once.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Converter {
    /// The number of its channel by pin.
    pub channels: BTreeMap<Pin, u8>,
    /// What makes the supply its reference; nothing where it is so from reset on.
    #[serde(default)]
    pub supply: Bits,
    /// The register and its bit that put the high eight bits into one register.
    pub left: [String; 2],
    /// The bit of `ADCSRA` that starts a conversion after each.
    pub again: String,
    /// `None`: the chip's own reference cannot be measured against the supply.
    pub bandgap: Option<Bandgap>,
    /// What it draws while it is on.
    pub draws: Amps,
}

/// The chip's own reference as a channel.
#[derive(Debug, Clone, Copy, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bandgap {
    pub channel: u8,
    /// At the least, typically, at the most.
    pub volts: [Volts; 3],
}
