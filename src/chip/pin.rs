//! Pins and the packages they come in.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

/// A pin of a port, such as PB2.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Pin {
    /// `A` to `F`.
    pub port: char,
    /// 0 to 7.
    pub bit: u8,
}

impl Pin {
    /// The pin's bit as a mask.
    pub fn mask(self) -> u8 {
        1 << self.bit
    }
}

impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("P{}{}", self.port, self.bit))
    }
}

impl FromStr for Pin {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.as_bytes() {
            [b'P', port @ b'A'..=b'L', bit @ b'0'..=b'7'] => Ok(Self {
                port: *port as char,
                bit: bit - b'0',
            }),
            _ => Err(format!("expected a pin such as PB2, found `{text}`")),
        }
    }
}

impl TryFrom<String> for Pin {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl From<Pin> for String {
    fn from(pin: Pin) -> Self {
        pin.to_string()
    }
}

/// The pins a programmer needs, next to reset and the supply.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Programming {
    /// Data into the chip. The names are those of the datasheets.
    pub mosi: Pin,
    /// Data out of the chip.
    pub miso: Pin,
    pub sck: Pin,
}

impl Programming {
    /// What the programmer calls this pin, if it uses it.
    pub fn function(&self, pin: Pin) -> Option<&'static str> {
        match pin {
            _ if pin == self.mosi => Some("MOSI"),
            _ if pin == self.miso => Some("MISO"),
            _ if pin == self.sck => Some("SCK"),
            _ => None,
        }
    }
}

/// Pins that a delivered chip keeps for a debugger until a fuse is unprogrammed.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Debugging {
    pub fuse: String,
    pub pins: Vec<Pin>,
}

/// How a package's legs are numbered and connected.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Package {
    /// Such as `PDIP-20`.
    pub name: String,
    /// Two rows of legs (drawn as such) or four.
    pub rows: u8,
    /// What each leg is, leg 1 first: a pin, or `VCC`, `GND`, `AVCC`, `AREF`, `NC`, …
    pub legs: Vec<String>,
}

impl Package {
    /// The number of the leg with this pin, counted from 1.
    pub fn leg(&self, pin: Pin) -> Option<usize> {
        let name = pin.to_string();
        self.legs
            .iter()
            .position(|leg| *leg == name)
            .map(|index| index + 1)
    }
}
