//! The records in the EEPROM, byte for byte as the firmware keeps them.

use super::{Memory, Saving};

/// The check byte of the gap between the newest record and the oldest.
const NEVER_VALID: u8 = 0xFF;

/// The EEPROM and where in it the next record goes.
#[derive(Debug, Clone)]
pub struct Records<'a> {
    memory: &'a Memory,
    cells: Vec<u8>,
    /// Where the next record goes.
    record: usize,
    /// What the check byte has come to.
    check: u8,
    /// Steps until the state is saved; 0: it is.
    unsaved: u16,
}

/// A byte on its way into the EEPROM.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Saved {
    pub address: u16,
    pub value: u8,
}

impl<'a> Records<'a> {
    pub fn new(memory: &'a Memory, cells: &[u8]) -> Self {
        Self {
            memory,
            cells: cells.to_vec(),
            record: 0,
            check: 0,
            unsaved: 0,
        }
    }

    pub fn cells(&self) -> &[u8] {
        &self.cells
    }

    /// What the newest record has of the state. `None`: there is none.
    pub fn recall(&mut self) -> Option<Vec<u8>> {
        let mut at = 0;
        let mut next_is_good = true;
        // The first one twice: its successor comes last.
        for _ in 0..=self.memory.records() {
            let state = self.load(at);
            if state.is_some() && !next_is_good {
                return state;
            }
            next_is_good = state.is_some();
            self.record = at;
            at = self.wrap(at + self.end() - self.size());
        }
        None
    }

    /// The state at `at`, if it is valid.
    fn load(&self, at: usize) -> Option<Vec<u8>> {
        let length = self.memory.state.0 as usize;
        let state = &self.cells[at..at + length];
        let check = state
            .iter()
            .fold(self.memory.check, |check, byte| check ^ byte);
        (sealed(check) == self.cells[at + length]).then(|| state.to_vec())
    }

    /// Whether a save is going on, or about to.
    pub fn is_due(&self) -> bool {
        self.unsaved > 0
    }

    /// Has the state written as soon as can be.
    pub fn save_at_once(&mut self) {
        self.unsaved = self.memory.saving.at_once();
    }

    /// Has the state written after the project's quiet time.
    pub fn save_when_quiet(&mut self) {
        self.unsaved = self.memory.saving.after_change();
    }

    /// One step of a save, of the whole state: counts down, and at last writes a byte.
    pub fn step(&mut self, state: &[u8]) -> Option<Saved> {
        let step = self.unsaved.checked_sub(1)?;
        self.unsaved = step;
        let state = &state[self.memory.from.0 as usize..];
        let length = state.len() as u16;
        if step > length + 1 {
            self.check = self.memory.check;
            return None;
        }
        let (address, value) = match step {
            0 => {
                let at = self.record;
                self.record = self.wrap(at + self.size());
                (at + usize::from(length), sealed(self.check))
            }
            1 => (
                self.wrap(self.record + self.size()) + usize::from(length),
                NEVER_VALID,
            ),
            _ => {
                let byte = step - Saving::LAST;
                let value = state[usize::from(byte)];
                self.check ^= value;
                (self.record + usize::from(byte), value)
            }
        };
        self.cells[address] = value;
        Some(Saved {
            address: address as u16,
            value,
        })
    }

    fn size(&self) -> usize {
        self.memory.record.0 as usize
    }

    fn end(&self) -> usize {
        self.memory.end.0 as usize
    }

    fn wrap(&self, at: usize) -> usize {
        at % self.end()
    }
}

/// The check byte of a sum: it never looks like the gap. The two sums that share one differ in all bits,
/// so a bit that has turned over is always found.
fn sealed(sum: u8) -> u8 {
    if sum == NEVER_VALID { 0 } else { sum }
}
