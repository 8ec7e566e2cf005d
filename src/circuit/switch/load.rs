//! What a switch has to switch.

use crate::units::{Amps, Volts};

/// A string of LEDs, or several side by side, on its rail.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Of all strings together, while lit.
    pub current: Amps,
    /// What is left for the string's resistor: by so much the transistor's collector moves between
    /// dark and light.
    pub swing: Volts,
}
