//! The EEPROM with its real timing (datasheets, 'EEPROM Data Memory' and the table 'EEPROM
//! Programming Time'): EEPE stays set for 3.4 ms of an erase-and-write, 1.8 ms of either alone.

use super::moment::Moment;
use crate::units::Hertz;

/// What a cell holds after power failed while it was being programmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Torn {
    /// Programming had not begun to show.
    Old,
    /// Erased and not written.
    Erased,
    /// Anything: cells between two states may read either way.
    Value(u8),
    /// As if it had been completed.
    New,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum EepromRegister {
    Control,
    Data,
    AddressLow,
    AddressHigh,
}

/// A byte being programmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Programming {
    pub address: u16,
    pub old: u8,
    pub new: u8,
    pub started: Moment,
    pub done: Moment,
}

const READ_ENABLE: u8 = 1 << 0;
const PROGRAM_ENABLE: u8 = 1 << 1;
const MASTER_ENABLE: u8 = 1 << 2;
const INTERRUPT_ENABLE: u8 = 1 << 3;
const MODE: u8 = 3 << 4;
const ERASED: u8 = 0xFF;

/// Cycles for which the processor halts after setting EERE, and after setting EEPE.
const READ_HALT: u64 = 4;
const PROGRAM_HALT: u64 = 2;
/// Cycles within which EEPE must follow EEMPE.
const MASTER_WINDOW: u64 = 4;

pub(super) struct Eeprom {
    cells: Vec<u8>,
    /// How often each cell has been programmed.
    wear: Vec<u32>,
    clock: Hertz,
    control: u8,
    data: u8,
    address: u16,
    master_until: Moment,
    programming: Option<Programming>,
    /// The last one that was begun.
    latest: Option<Programming>,
}

impl Eeprom {
    pub(super) fn new(size: u16, clock: Hertz) -> Self {
        Self {
            cells: vec![ERASED; usize::from(size)],
            wear: vec![0; usize::from(size)],
            clock,
            control: 0,
            data: 0,
            address: 0,
            master_until: Moment(0),
            programming: None,
            latest: None,
        }
    }

    /// A reset clears the registers; a byte being programmed is completed ('EEPE bit': a reset
    /// does not abort a write once begun).
    pub(super) fn reset(&mut self) {
        (self.control, self.data, self.master_until) = (0, 0, Moment(0));
        if self.programming.is_some() {
            self.control = PROGRAM_ENABLE;
        }
    }

    /// Power fails now: the byte being programmed becomes what `torn` says.
    pub(super) fn lose_power(&mut self, torn: Torn) {
        if let Some(Programming {
            address, old, new, ..
        }) = self.programming.take()
        {
            self.cells[usize::from(address)] = match torn {
                Torn::Old => old,
                Torn::Erased => ERASED,
                Torn::Value(value) => value,
                Torn::New => new,
            };
        }
        (self.control, self.data, self.address, self.master_until) = (0, 0, 0, Moment(0));
    }

    pub(super) fn cells(&self) -> &[u8] {
        &self.cells
    }

    pub(super) fn cells_mut(&mut self) -> &mut [u8] {
        &mut self.cells
    }

    pub(super) fn wear(&self) -> &[u32] {
        &self.wear
    }

    pub(super) fn programming(&self) -> Option<Programming> {
        self.programming
    }

    pub(super) fn latest(&self) -> Option<Programming> {
        self.latest
    }

    /// The ready interrupt is asked for: it stays so while EEPE is clear.
    pub(super) fn interrupts(&self) -> bool {
        self.control & (INTERRUPT_ENABLE | PROGRAM_ENABLE) == INTERRUPT_ENABLE
    }

    pub(super) fn next_event(&self) -> Moment {
        self.programming.map_or(Moment::NEVER, |p| p.done)
    }

    pub(super) fn advance(&mut self, to: Moment) {
        if let Some(finished) = self.programming.filter(|p| p.done <= to) {
            self.cells[usize::from(finished.address)] = finished.new;
            self.programming = None;
            self.control &= !PROGRAM_ENABLE;
        }
        if self.control & MASTER_ENABLE != 0 && self.master_until < to {
            self.control &= !MASTER_ENABLE;
        }
    }

    pub(super) fn peek(&self, register: EepromRegister) -> u8 {
        match register {
            EepromRegister::Control => self.control,
            EepromRegister::Data => self.data,
            EepromRegister::AddressLow => self.address as u8,
            EepromRegister::AddressHigh => (self.address >> 8) as u8,
        }
    }

    /// Takes a write and returns the cycles for which it halts the processor. While a byte is being
    /// programmed the address, the mode and the data in use do not change, and nothing is read.
    pub(super) fn write(&mut self, register: EepromRegister, value: u8, at: Moment) -> u64 {
        self.advance(at);
        let busy = self.programming.is_some();
        let [low, high] = self.address.to_le_bytes();
        match register {
            EepromRegister::Data => self.data = value,
            EepromRegister::AddressLow if !busy => self.address = u16::from_le_bytes([value, high]),
            EepromRegister::AddressHigh if !busy => self.address = u16::from_le_bytes([low, value]),
            EepromRegister::AddressLow | EepromRegister::AddressHigh => {}
            EepromRegister::Control => return self.write_control(value, busy, at),
        }
        0
    }

    fn write_control(&mut self, value: u8, busy: bool, at: Moment) -> u64 {
        let armed = self.control & MASTER_ENABLE != 0;
        let kept = if busy {
            MODE | PROGRAM_ENABLE
        } else {
            PROGRAM_ENABLE
        };
        let written = !kept & (MODE | INTERRUPT_ENABLE);
        self.control = self.control & (kept | MASTER_ENABLE) | value & written;
        if value & PROGRAM_ENABLE != 0 && armed && !busy {
            self.control &= !MASTER_ENABLE;
            return self.begin_programming(at);
        }
        if value & MASTER_ENABLE != 0 && !armed {
            self.control |= MASTER_ENABLE;
            self.master_until = at + MASTER_WINDOW;
        }
        if value & READ_ENABLE != 0 && !busy {
            self.data = self.cells[self.cell()];
            return READ_HALT;
        }
        0
    }

    fn begin_programming(&mut self, at: Moment) -> u64 {
        let cell = self.cell();
        let old = self.cells[cell];
        let (new, seconds) = match (self.control & MODE) >> 4 {
            0 => (self.data, 3.4e-3),
            1 => (ERASED, 1.8e-3),
            // A write without an erase can only clear bits.
            2 => (old & self.data, 1.8e-3),
            _ => return 0,
        };
        let done = at + (seconds * self.clock.0).round() as u64;
        self.programming = Some(Programming {
            address: cell as u16,
            old,
            new,
            started: at,
            done,
        });
        self.latest = self.programming;
        self.control |= PROGRAM_ENABLE;
        self.wear[cell] += 1;
        PROGRAM_HALT
    }

    /// Address bits beyond the memory are not there.
    fn cell(&self) -> usize {
        usize::from(self.address) % self.cells.len()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn eeprom() -> Eeprom {
        Eeprom::new(128, Hertz(8e6))
    }

    fn program(eeprom: &mut Eeprom, address: u8, value: u8, at: Moment) {
        eeprom.write(EepromRegister::AddressLow, address, at);
        eeprom.write(EepromRegister::Data, value, at + 1);
        eeprom.write(EepromRegister::Control, MASTER_ENABLE, at + 2);
        assert_eq!(
            eeprom.write(EepromRegister::Control, PROGRAM_ENABLE, at + 4),
            PROGRAM_HALT
        );
    }

    /// Table 'EEPROM Programming Time', calibrated oscillator: 3.4 ms.
    #[test]
    fn programming_takes_its_time() {
        let mut eeprom = eeprom();
        program(&mut eeprom, 5, 0x42, Moment(100));
        let done = Moment(104 + 27_200);
        assert_eq!(eeprom.next_event(), done);
        eeprom.advance(Moment(done.0 - 1));
        assert_eq!(
            eeprom.peek(EepromRegister::Control) & PROGRAM_ENABLE,
            PROGRAM_ENABLE
        );
        assert_eq!(eeprom.cells()[5], ERASED);
        eeprom.advance(done);
        assert_eq!(eeprom.peek(EepromRegister::Control) & PROGRAM_ENABLE, 0);
        assert_eq!(eeprom.cells()[5], 0x42);
    }

    #[test]
    fn the_master_enable_lasts_four_cycles() {
        let mut eeprom = eeprom();
        eeprom.write(EepromRegister::Control, MASTER_ENABLE, Moment(10));
        eeprom.write(EepromRegister::Control, PROGRAM_ENABLE, Moment(15));
        assert_eq!(eeprom.programming(), None);
        eeprom.write(EepromRegister::Control, MASTER_ENABLE, Moment(20));
        eeprom.write(EepromRegister::Control, PROGRAM_ENABLE, Moment(24));
        assert!(eeprom.programming().is_some());
    }

    #[test]
    fn the_address_stands_still_while_programming() {
        let mut eeprom = eeprom();
        program(&mut eeprom, 5, 0x42, Moment(0));
        eeprom.write(EepromRegister::AddressLow, 9, Moment(50));
        assert_eq!(eeprom.peek(EepromRegister::AddressLow), 5);
    }

    #[test]
    fn a_torn_byte_is_what_one_chooses() {
        for (torn, expected) in [
            (Torn::Old, 0x11),
            (Torn::Erased, ERASED),
            (Torn::Value(0x5A), 0x5A),
            (Torn::New, 0x42),
        ] {
            let mut eeprom = eeprom();
            eeprom.cells_mut()[5] = 0x11;
            program(&mut eeprom, 5, 0x42, Moment(0));
            eeprom.lose_power(torn);
            assert_eq!(eeprom.cells()[5], expected);
        }
    }

    /// EEPM1:0 = 1 erases, 2 writes without erasing, each in 1.8 ms.
    #[test]
    fn erase_and_write_can_be_split() {
        let mut eeprom = eeprom();
        eeprom.cells_mut()[0] = 0xF0;
        eeprom.write(EepromRegister::Data, 0x3C, Moment(0));
        eeprom.write(EepromRegister::Control, 2 << 4 | MASTER_ENABLE, Moment(1));
        eeprom.write(EepromRegister::Control, 2 << 4 | PROGRAM_ENABLE, Moment(2));
        assert_eq!(eeprom.next_event(), Moment(2 + 14_400));
        eeprom.advance(Moment(20_000));
        assert_eq!(eeprom.cells()[0], 0x30);
    }
}
