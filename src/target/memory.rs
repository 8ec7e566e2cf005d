//! What the EEPROM is reached by.

use serde::Serialize;

/// Registers of the EEPROM and bits of the one that controls it, by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Registers {
    pub control: &'static str,
    pub data: &'static str,
    /// The address, its low byte…
    pub low: &'static str,
    /// …and its high one, where it has two.
    pub high: Option<&'static str>,
    /// What some headers call the low byte.
    pub low_also: Option<&'static str>,
    /// The bit that reads…
    pub read: &'static str,
    /// …the one that allows a write within four cycles, and the one that starts it.
    pub arm: &'static str,
    pub start: &'static str,
}
