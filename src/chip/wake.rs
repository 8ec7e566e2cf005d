//! What wakes a chip from power-down.

use serde::Deserialize;

use super::pin::Pin;
use super::timer::Bits;

/// The pins that wake it, and how.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wake {
    /// A low level wakes.
    pub levels: Vec<LevelPin>,
    /// Any change wakes.
    #[serde(default)]
    pub changes: Vec<ChangePort>,
}

/// A pin of an external interrupt, which reset sets to a low level.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LevelPin {
    pub pin: Pin,
    pub vector: String,
    pub number: u8,
    pub enable: Bits,
}

/// The pin-change interrupt of a port.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChangePort {
    pub port: char,
    pub vector: String,
    pub number: u8,
    /// The register that chooses its pins, bit by bit.
    pub mask: String,
    pub enable: Bits,
    /// Written to forget a change that was.
    pub flag: Bits,
}
