//! The voltage below which the chip holds itself in reset.

use serde::Deserialize;

use crate::units::Volts;

/// A level of the brown-out detector.
#[derive(Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BrownOut {
    /// As the datasheet names it.
    pub volts: Volts,
    /// It trips somewhere from the first to the second.
    pub trips: [Volts; 2],
    /// The fuses that choose it; the detector's others are unprogrammed.
    pub programmed: Vec<String>,
}

/// Whether the fuse of this name belongs to the detector.
pub fn is_brown_out_fuse(name: &str) -> bool {
    name.starts_with("BODLEVEL") || name == "BODEN"
}
