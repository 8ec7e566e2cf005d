//! A pin that is looked at once a tick: a button's, a contact's, a switch's.

use serde::Serialize;

use super::parts::between;
use crate::design::Design;
use crate::target::PortPin;

/// The pin, and what looks at it are counted in: `type` in C, `count` in Rust.
#[derive(Debug, Serialize)]
pub(super) struct WatchedText {
    #[serde(rename = "type")]
    kind: &'static str,
    count: &'static str,
    input: String,
    bit: u8,
    pin: String,
    /// It is high while it is closed.
    high: bool,
    debounce: u16,
    debounce_time: String,
}

impl WatchedText {
    /// `wide`: the count takes two bytes. `high`: it closes to the supply.
    pub(super) fn new(
        design: &Design,
        pin: &PortPin,
        wide: bool,
        high: bool,
        debounce: u16,
    ) -> Self {
        Self {
            kind: in_c(wide),
            count: in_rust(wide),
            input: pin.input.clone(),
            bit: pin.pin.bit,
            pin: pin.pin.to_string(),
            high,
            debounce,
            debounce_time: between(design, debounce),
        }
    }
}

/// A count of a byte, or of two.
pub(super) fn in_c(wide: bool) -> &'static str {
    if wide { "uint16_t" } else { "uint8_t" }
}

pub(super) fn in_rust(wide: bool) -> &'static str {
    if wide { "u16" } else { "u8" }
}
