//! Registers: where they are, what their bits are called, which instructions reach them.

use serde::Deserialize;
use serde::de::{Deserializer, Error};

/// A register in the data space.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Register {
    /// In the data space, as `lds` and `sts` count (an `in`/`out` address is 0x20 lower).
    pub address: u16,
    /// Names by bit number, for those that have one.
    pub bits: [Option<String>; 8],
}

/// The cheapest instruction that writes a register, cheapest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reach {
    /// `sbi`, `cbi`, `in`, `out`.
    Bit,
    /// `in`, `out`: one cycle, one word.
    Out,
    /// `lds`, `sts`: two cycles, two words.
    Memory,
}

impl Reach {
    /// The instruction that stores into a register.
    pub fn store(self) -> &'static str {
        match self {
            Self::Bit | Self::Out => "out",
            Self::Memory => "sts",
        }
    }

    /// The instruction that reads a register.
    pub fn load(self) -> &'static str {
        match self {
            Self::Bit | Self::Out => "in ",
            Self::Memory => "lds",
        }
    }
}

impl Register {
    pub fn reach(&self) -> Reach {
        match self.address {
            ..0x40 => Reach::Bit,
            0x40..0x60 => Reach::Out,
            _ => Reach::Memory,
        }
    }

    /// What the bit of this number is called.
    pub fn name_of(&self, number: u8) -> Option<&str> {
        self.bits.get(usize::from(number))?.as_deref()
    }

    /// The number of the bit called so.
    pub fn bit(&self, name: &str) -> Option<u8> {
        bit_named(&self.bits, name)
    }
}

/// The number of the bit called so, of names by bit number.
pub(super) fn bit_named(bits: &[Option<String>; 8], name: &str) -> Option<u8> {
    let found = bits.iter().position(|bit| bit.as_deref() == Some(name));
    found.map(|number| number as u8)
}

/// In a data file: `[0x50, COM0A1 COM0A0 COM0B1 COM0B0 - - WGM01 WGM00]`, bit 7 first as datasheets
/// draw it, or the address alone.
#[derive(Deserialize)]
#[serde(untagged)]
enum Written {
    Plain(u16),
    Named(u16, String),
}

impl<'de> Deserialize<'de> for Register {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let (address, names) = match Written::deserialize(deserializer)? {
            Written::Plain(address) => (address, None),
            Written::Named(address, names) => (address, Some(names)),
        };
        let bits = match names {
            None => Default::default(),
            Some(names) => bits_from(&names).map_err(D::Error::custom)?,
        };
        Ok(Self { address, bits })
    }
}

/// Eight names, bit 7 first, `-` for a bit without one; returned by bit number.
pub(super) fn bits_from(names: &str) -> Result<[Option<String>; 8], String> {
    let mut bits: Vec<Option<String>> = names
        .split_whitespace()
        .map(|name| (name != "-").then(|| name.to_string()))
        .collect();
    bits.reverse();
    bits.try_into()
        .map_err(|_| format!("expected eight bit names, bit 7 first, in `{names}`"))
}
