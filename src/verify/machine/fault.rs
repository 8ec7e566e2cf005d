//! Why a run ends, or never begins.

use std::fmt;

use super::moment::Moment;
use super::silicon::SiliconError;
use crate::units::Bytes;
use crate::verify::FirmwareError;

/// The firmware did what no chip could go on from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// An instruction that does not exist, an address outside memory, or the end of the flash.
    Crash { at: Moment, pc: u32, opcode: u16 },
    /// SLEEP in a mode that is neither idle nor power-down, which is not modelled.
    SleepMode { at: Moment, pc: u32 },
    /// Power-down while a byte is being programmed into the EEPROM: the clock then goes on, and the chip
    /// never sleeps deeply (ATmega datasheets, 'EEPROM Write During Power-down Sleep Mode').
    SleepWhileProgramming { at: Moment, pc: u32 },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Crash { at, pc, opcode } => write!(
                f,
                "the firmware crashes at cycle {}: instruction {opcode:#06x} at {pc:#06x}",
                at.0
            ),
            Self::SleepMode { at, pc } => write!(
                f,
                "the firmware sleeps in a mode that is not simulated at cycle {} ({pc:#06x})",
                at.0
            ),
            Self::SleepWhileProgramming { at, pc } => write!(
                f,
                "the firmware powers the chip down at cycle {} ({pc:#06x}) while a byte is being \
                 programmed into the EEPROM, which keeps the clock running",
                at.0
            ),
        }
    }
}

impl std::error::Error for Fault {}

/// Why a machine could not be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LoadError {
    Firmware(FirmwareError),
    Silicon(SiliconError),
    /// The ELF file is for another family of parts.
    OtherInstructionSet {
        built_for: u32,
        part: String,
    },
    TooLarge {
        size: Bytes,
        part: String,
    },
    /// The part's instruction set, as GNU numbers them, is none that the core has.
    NoCore {
        architecture: u32,
        part: String,
    },
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Firmware(error) => error.fmt(f),
            Self::Silicon(error) => error.fmt(f),
            Self::OtherInstructionSet { built_for, part } => {
                write!(
                    f,
                    "the firmware is built for avr{built_for}, which {part} is not"
                )
            }
            Self::TooLarge { size, part } => {
                write!(
                    f,
                    "the firmware takes {size} of flash, more than {part} has"
                )
            }
            Self::NoCore { architecture, part } => {
                write!(
                    f,
                    "{part} has the instruction set avr{architecture}, which is not simulated"
                )
            }
        }
    }
}

impl std::error::Error for LoadError {}
