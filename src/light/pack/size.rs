//! What a form costs in the chip's flash: its numbers, and the code that reads them back, counted in its text.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::form::Form;
use super::text::DecoderText;
use crate::assembly::Listing;
use crate::template::{environment, rendered};
use crate::units::Bytes;

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

/// Among what a form is decoded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
pub struct Surroundings {
    /// The chip has the `MUL` instruction.
    pub has_mul: bool,
    /// Something else needs a product too, which then costs the form nothing.
    pub product: bool,
    /// Duties are scaled by trims.
    pub trims: bool,
}

impl Surroundings {
    /// Where nothing else is, on a chip with or without `MUL`.
    pub fn bare(has_mul: bool) -> Self {
        Self {
            has_mul,
            product: false,
            trims: false,
        }
    }
}

/// The decoder's text, and that of the product which several parts use, by name.
pub const TEMPLATES: [(&str, &str); 2] = [
    ("light.S", include_str!("../../../templates/avr/light.S.j2")),
    (
        "product.S",
        include_str!("../../../templates/avr/product.S.j2").trim_ascii_end(),
    ),
];

static ENVIRONMENT: LazyLock<Environment<'static>> = LazyLock::new(|| environment(&TEMPLATES));

#[derive(Serialize)]
struct Context<'a> {
    light: &'a DecoderText,
    gated: bool,
    seven: bool,
    #[serde(flatten)]
    around: Surroundings,
}

/// The flash that `form` takes.
pub(super) fn size(form: &Form, gated: bool, around: Surroundings) -> Size {
    let decoder = DecoderText::new(form);
    let counted = |name: &str, seven: bool| {
        let context = Context {
            light: &decoder,
            gated,
            seven,
            around,
        };
        Listing::read(&rendered(&ENVIRONMENT, name, &context))
            .size()
            .0
    };
    let product = match (decoder.multiplies(), around.product) {
        (false, _) => 0,
        (true, false) => counted("product.S", decoder.seven),
        (true, true) if decoder.seven => counted("product.S", true) - counted("product.S", false),
        (true, true) => 0,
    };
    let data = match form {
        Form::Plain8(duties) => duties.len(),
        Form::Plain16(duties) => 2 * duties.len(),
        Form::Interpolated { knots, .. } => 2 * knots.len(),
        Form::Polynomial { .. } | Form::Kneed { .. } => 0,
    };
    Size {
        data: Bytes(data as u32),
        code: Bytes(counted("light.S", decoder.seven) + product),
    }
}
