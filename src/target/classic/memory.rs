//! The EEPROM: an address, a byte, and a control register that arms a write and starts it.

use crate::chip::Chip;
use crate::target::MemoryRegisters;
use crate::units::Bytes;

/// What an address of one byte reaches.
const NEAR: Bytes = Bytes(256);

pub(in crate::target) fn registers(chip: &'static Chip) -> MemoryRegisters {
    MemoryRegisters {
        control: "EECR",
        data: "EEDR",
        low: "EEARL",
        high: (chip.eeprom.size > NEAR).then_some("EEARH"),
        low_also: chip.eeprom.address_also.as_deref(),
        read: "EERE",
        arm: &chip.eeprom.arm,
        start: &chip.eeprom.start,
    }
}
