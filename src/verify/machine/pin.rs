//! A pin of the chip by its port and bit.

use std::fmt;
use std::str::FromStr;

use serde::Deserialize;

/// A port pin, such as PB2.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize)]
#[serde(try_from = "String")]
pub struct Pin {
    /// 0 for port A.
    port: u8,
    bit: u8,
}

impl Pin {
    /// Ports A to H, eight bits each.
    pub(super) const COUNT: usize = 64;

    pub(super) const fn at(index: usize) -> Self {
        Self {
            port: (index / 8) as u8,
            bit: (index % 8) as u8,
        }
    }

    pub(super) const fn index(self) -> usize {
        self.port as usize * 8 + self.bit as usize
    }
}

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "P{}{}", char::from(b'A' + self.port), self.bit)
    }
}

/// Text that names no pin.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAPin(pub String);

impl fmt::Display for NotAPin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "'{}' is not a pin such as PB2", self.0)
    }
}

impl std::error::Error for NotAPin {}

impl FromStr for Pin {
    type Err = NotAPin;

    fn from_str(text: &str) -> Result<Self, NotAPin> {
        match text.as_bytes() {
            [b'P', port @ b'A'..=b'H', bit @ b'0'..=b'7'] => Ok(Self {
                port: port - b'A',
                bit: bit - b'0',
            }),
            _ => Err(NotAPin(text.to_string())),
        }
    }
}

impl TryFrom<String> for Pin {
    type Error = NotAPin;

    fn try_from(text: String) -> Result<Self, NotAPin> {
        text.parse()
    }
}
