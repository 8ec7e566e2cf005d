//! Register writes, in the chip's own names.

use serde::Serialize;

use crate::chip::{Chip, Reach, Register};

/// A register and what to write into it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Write {
    pub register: &'static str,
    /// The bits to set, by name, highest first. Empty: `value` is a plain number.
    pub bits: Vec<&'static str>,
    /// What those bits come to.
    pub value: u8,
    pub reach: Reach,
}

impl Write {
    /// The named bits of a register set, all others zero.
    pub fn bits(chip: &'static Chip, register: &str, names: &[&str]) -> Self {
        let (register, entry) = self::register(chip, register);
        let number = |name: &&str| {
            entry
                .bit(name)
                .expect("every bit that chip data names is in its register (tested)")
        };
        let mut numbers: Vec<u8> = names.iter().map(number).collect();
        numbers.sort_unstable_by(|a, b| b.cmp(a));
        numbers.dedup();
        Self {
            register,
            bits: numbers
                .iter()
                .filter_map(|&number| entry.name_of(number))
                .collect(),
            value: numbers.iter().map(|number| 1 << number).sum(),
            reach: entry.reach(),
        }
    }

    /// Writing it again changes nothing: it does not reset a prescaler.
    pub fn lasts(&self) -> bool {
        !self.bits.iter().any(|bit| bit.starts_with("PSR"))
    }

    /// A number.
    pub fn number(chip: &'static Chip, register: &str, value: u8) -> Self {
        let (register, entry) = self::register(chip, register);
        Self {
            register,
            bits: Vec::new(),
            value,
            reach: entry.reach(),
        }
    }
}

/// A write that the chip lets through only within four cycles of another one to the same register.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Guarded {
    pub unlock: Write,
    pub write: Write,
}

/// The register and its name, as the chip's data holds them.
///
/// # Panics
/// If the chip's data has no such register.
pub fn register(chip: &'static Chip, name: &str) -> (&'static str, &'static Register) {
    let (name, register) = chip
        .registers
        .get_key_value(name)
        .expect("every register that chip data names is listed (tested)");
    (name, register)
}
