//! What a form costs in the chip's flash: its numbers, and the code that reads them back.
//!
//! The figures are measured with avr-gcc; see `DECODERS`.

use serde::Serialize;

use crate::units::Bytes;

use super::form::{Argument, Form};

/// Flash that a form takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Size {
    /// Numbers in tables.
    pub data: Bytes,
    /// The decoder, with the numbers that are operands of its instructions.
    pub code: Bytes,
}

impl Size {
    pub fn total(self) -> Bytes {
        Bytes(self.data.0 + self.code.0)
    }
}

/// Code bytes of one kind of decoder, without and with the `MUL` instruction.
struct Cost {
    shifts: u32,
    mul: u32,
}

impl Cost {
    const fn of(&self, has_mul: bool) -> u32 {
        if has_mul { self.mul } else { self.shifts }
    }
}

/// The calibration, all in one place.
mod decoders {
    use super::Cost;

    pub const PLAIN8: Cost = Cost { shifts: 8, mul: 8 };
    pub const PLAIN16: Cost = Cost {
        shifts: 14,
        mul: 14,
    };
    pub const INTERPOLATED: Cost = Cost {
        shifts: 60,
        mul: 44,
    };
    /// A polynomial without its terms: the multiplication, and the call.
    pub const POLYNOMIAL: Cost = Cost {
        shifts: 28,
        mul: 12,
    };
    /// A term: load or add the coefficient, multiply.
    pub const TERM: Cost = Cost { shifts: 6, mul: 14 };
    /// A coefficient that is subtracted stops at zero.
    pub const SATURATE: Cost = Cost { shifts: 6, mul: 6 };
    /// Seven bits of fraction instead of eight.
    pub const SEVEN_BITS: Cost = Cost { shifts: 6, mul: 6 };
    /// One shift of the level.
    pub const SHIFT: Cost = Cost { shifts: 2, mul: 2 };
    /// Compare with the knee, branch, and the jump past the other part.
    pub const KNEE: Cost = Cost { shifts: 6, mul: 6 };
    /// Dark at level 0, whatever the form says.
    pub const GATE: Cost = Cost { shifts: 4, mul: 4 };
}

/// The flash that `form` takes on a chip with or without the `MUL` instruction.
pub fn size(form: &Form, gated: bool, has_mul: bool) -> Size {
    let terms = |argument: &Argument, coefficients: &[i32]| {
        let negative = coefficients.iter().filter(|&&c| c < 0).count() as u32;
        decoders::POLYNOMIAL.of(has_mul)
            + decoders::TERM.of(has_mul) * coefficients.len() as u32
            + decoders::SATURATE.of(has_mul) * negative
            + decoders::SHIFT.of(has_mul) * u32::from(argument.shift)
            + if argument.fraction == 7 {
                decoders::SEVEN_BITS.of(has_mul)
            } else {
                0
            }
    };
    let (data, code) = match form {
        Form::Plain8(duties) => (duties.len(), decoders::PLAIN8.of(has_mul)),
        Form::Plain16(duties) => (2 * duties.len(), decoders::PLAIN16.of(has_mul)),
        Form::Interpolated { knots, .. } => (2 * knots.len(), decoders::INTERPOLATED.of(has_mul)),
        Form::Polynomial {
            argument,
            coefficients,
        } => (0, terms(argument, coefficients)),
        Form::Kneed {
            argument,
            line,
            coefficients,
            ..
        } => {
            let both = terms(argument, &[line, &coefficients[..]].concat());
            (0, both + decoders::KNEE.of(has_mul))
        }
    };
    let gate = if gated { decoders::GATE.of(has_mul) } else { 0 };
    Size {
        data: Bytes(data as u32),
        code: Bytes(code + gate),
    }
}
