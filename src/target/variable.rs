//! What a part of the firmware counts in.

use crate::units::Bytes;

/// A variable that a part wants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wanted {
    pub name: &'static str,
    /// One byte or two.
    pub size: Bytes,
    /// Nothing else sets it before it is used: it must start from 0.
    pub cleared: bool,
    /// What it is, for who reads the firmware.
    pub note: &'static str,
}

impl Wanted {
    /// A byte, or two where it is `wide`.
    pub fn new(name: &'static str, wide: bool, note: &'static str) -> Self {
        Self {
            name,
            size: Bytes(if wide { 2 } else { 1 }),
            cleared: false,
            note,
        }
    }

    /// The same, started from 0 where that is so.
    pub fn cleared(self, cleared: bool) -> Self {
        Self { cleared, ..self }
    }
}
