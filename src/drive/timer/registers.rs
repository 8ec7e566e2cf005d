//! The registers that the interrupt keeps for itself.

use serde::Serialize;

/// Registers by number. The compiler is told to stay away from them, so that the interrupt need
/// not save anything.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Registers {
    /// Fraction and compare value of each channel, where they fit into registers.
    pub lamps: Option<Vec<Lamp>>,
    pub phase: Option<u8>,
    pub overflows: u8,
    /// The status register, during the interrupt.
    pub flags: u8,
    /// The pump's port, during the interrupt, where it cannot toggle by itself.
    pub pump: Option<u8>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Lamp {
    pub part: u8,
    pub base: u8,
}

/// The first register that the compiler can do without.
const FIRST: u8 = 2;

/// What the interrupt works with: the first register that instructions with numbers reach.
pub const WORK: u8 = 16;

/// With more channels than this the compiler would have too few registers left.
const MOST_IN_REGISTERS: usize = 4;

impl Registers {
    /// For so many channels; `dither`: with a phase; `by_xor`: with a pump that is toggled so.
    pub(super) fn new(channels: usize, dither: bool, by_xor: bool) -> Self {
        let mut next = FIRST;
        let mut take = || {
            next += 1;
            next - 1
        };
        let few = channels <= MOST_IN_REGISTERS;
        let lamps = few.then(|| {
            (0..channels)
                .map(|_| Lamp {
                    part: take(),
                    base: take(),
                })
                .collect()
        });
        let phase = dither.then(&mut take);
        Self {
            lamps,
            phase,
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
