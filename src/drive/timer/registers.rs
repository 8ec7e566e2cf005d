//! The registers that the interrupt keeps for itself.

use serde::Serialize;

use crate::chip::{Chip, Reach};

/// Registers by number. The compiler is told to stay away from them, so that the interrupt need
/// not save anything.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Registers {
    /// The compare values of each channel, where they fit into registers.
    pub lamps: Option<Vec<Lamp>>,
    pub overflows: u8,
    /// The status register, during the interrupt.
    pub flags: u8,
    /// The pump's port, during the interrupt, where it cannot toggle by itself.
    pub pump: Option<u8>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Lamp {
    /// For the period that leads.
    pub lead: u8,
    /// For the others.
    pub rest: u8,
}

/// The first register that the compiler can do without.
const FIRST: u8 = 2;

/// What the interrupt works with: the first register that instructions with numbers reach.
pub const WORK: u8 = 16;

/// With more channels than this the compiler would have too few registers left.
const MOST_IN_REGISTERS: usize = 4;

impl Registers {
    /// For so many channels; `by_xor`: with a pump that is toggled so.
    pub(super) fn new(channels: usize, by_xor: bool) -> Self {
        let mut next = FIRST;
        let mut take = || {
            next += 1;
            next - 1
        };
        let few = channels <= MOST_IN_REGISTERS;
        let lamps = few.then(|| {
            (0..channels)
                .map(|_| Lamp {
                    lead: take(),
                    rest: take(),
                })
                .collect()
        });
        Self {
            lamps,
            overflows: take(),
            flags: take(),
            pump: by_xor.then(take),
        }
    }

    /// The first and the last one; [`WORK`] is one more.
    pub fn range(&self) -> (u8, u8) {
        (FIRST, self.pump.unwrap_or(self.flags))
    }
}

/// Who keeps what the interrupt needs from one time to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Keeper {
    /// The compiler stays away from its registers.
    Registers,
    /// No compiler does, so it saves what it uses.
    Shelter(Shelter),
    /// There is no interrupt: the program is the person's own.
    Nobody,
}

/// General purpose registers among the I/O registers, for an interrupt that owns no others. `None`: memory, or
/// the stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Shelter {
    pub overflows: Option<&'static str>,
    pub flags: Option<&'static str>,
}

impl Shelter {
    pub fn new(chip: &Chip) -> Self {
        let mut free = ["GPIOR0", "GPIOR1", "GPIOR2"].into_iter().filter(|name| {
            let register = chip.register(name);
            register.is_some_and(|register| register.reach() != Reach::Memory)
        });
        Self {
            overflows: free.next(),
            flags: free.next(),
        }
    }

    pub fn used(self) -> impl Iterator<Item = &'static str> {
        [self.overflows, self.flags].into_iter().flatten()
    }
}
