//! Pins and ports as the firmware reaches them.

use crate::chip::{Pin, Reach};

/// A pin and the registers of its port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortPin {
    pub pin: Pin,
    /// Its level as an output, its pull-up as an input.
    pub port: String,
    pub direction: String,
    pub input: String,
}

/// Bits of one port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortMask {
    pub port: char,
    /// The port's direction register.
    pub register: String,
    pub mask: u8,
}

/// How pins change to the other level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Toggle {
    /// Their bits are written to it…
    pub register: &'static str,
    pub reach: Reach,
    /// …or exclusive-or'd into it.
    pub by_xor: bool,
}
