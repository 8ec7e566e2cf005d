//! What templates can say about a design, in words and numbers ready to print.

mod contacts;
mod converter;
mod fuses;
mod hardware;
mod light;
mod once;
mod parts;
mod pins;
mod starts;
mod switch;
mod tables;
mod watched;
mod write;

use serde::Serialize;

use crate::design::Design;
use crate::emit::source_name;
use crate::escape::comment;
use crate::score::Format;

/// Everything; each language's templates take what they need.
#[derive(Debug, Serialize)]
pub(super) struct Context {
    project: String,
    /// Fit for a file name and a make target.
    name: String,
    source: String,
    /// The whole firmware, not only tables and player.
    firmware: bool,
    #[serde(flatten)]
    hardware: hardware::Hardware,
    #[serde(flatten)]
    parts: parts::Parts,
    #[serde(flatten)]
    tables: tables::Tables,
    light: light::LightText,
    format: Format,
    /// Level 0 is dark by a test of its own.
    gated: bool,
    /// A product is needed somewhere.
    share: bool,
    /// …and one with seven bits of fraction.
    seven: bool,
}

/// Whose the registers are that the compiler of C can be kept from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Registers {
    Interrupts,
    Compilers,
}

impl Context {
    pub(super) fn new(design: &Design, firmware: bool, registers: Registers) -> Self {
        let light = light::LightText::new(design);
        let parts = parts::Parts::new(design, firmware);
        let tables = tables::Tables::new(design);
        let share = light.multiplies() || parts.multiplies() || tables.has_trims();
        Self {
            project: design.project.name.value.clone(),
            name: design.project.name.value.clone(),
            source: comment(&source_name(design)).into_owned(),
            firmware,
            hardware: hardware::Hardware::new(design, firmware, registers),
            gated: design.deck.light.gated,
            seven: light.has_seven_bits(),
            light,
            parts,
            tables,
            format: design.deck.image.format,
            share,
        }
    }
}
