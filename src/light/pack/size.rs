//! What a form costs in the chip's flash: its numbers, and the code that reads them back.
//!
//! The figures are measured with avr-gcc; see `decoders`.

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

/// Code bytes of one kind of decoder: without and with the `MUL` instruction.
struct Cost(u32, u32);

impl Cost {
    fn of(&self, has_mul: bool) -> u32 {
        if has_mul { self.1 } else { self.0 }
    }
}

/// The calibration, all in one place: avr-gcc 5.4, `-Os`, the decoder as a function, and the
/// multiplication as another (26 bytes of shifting and adding, 16 with `MUL`), which is counted.
mod decoders {
    use super::Cost;

    pub(super) const PLAIN8: Cost = Cost(12, 12);
    pub(super) const PLAIN16: Cost = Cost(18, 18);
    pub(super) const INTERPOLATED: Cost = Cost(90, 84);
    /// A polynomial's multiplication, first coefficient, and return.
    pub(super) const POLYNOMIAL: Cost = Cost(40, 36);
    /// Another coefficient: multiply, add.
    pub(super) const TERM: Cost = Cost(8, 8);
    /// A coefficient that is subtracted stops at zero.
    pub(super) const SATURATE: Cost = Cost(14, 14);
    /// Seven bits of fraction instead of eight.
    pub(super) const SEVEN_BITS: Cost = Cost(0, 6);
    /// One shift of the level.
    pub(super) const SHIFT: Cost = Cost(2, 2);
    /// Compare with the knee and branch, less what the two parts share.
    pub(super) const KNEE: Cost = Cost(0, 4);
    /// Dark at level 0, whatever the form says.
    pub(super) const GATE: Cost = Cost(10, 10);
}

/// The flash that `form` takes on a chip with or without the `MUL` instruction.
pub(super) fn size(form: &Form, gated: bool, has_mul: bool) -> Size {
    let terms = |argument: &Argument, coefficients: &[i32]| {
        let negative = coefficients.iter().filter(|&&c| c < 0).count() as u32;
        decoders::POLYNOMIAL.of(has_mul)
            + decoders::TERM.of(has_mul) * (coefficients.len() as u32 - 1)
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
