//! The wiring card: which leg goes where, which parts are needed, how the fuses are set, and what to
//! mind.

mod cautions;
mod drawing;
mod fuses;
mod legs;
mod parts;
mod svg;
mod text;

use serde::Serialize;

use super::Board;
use crate::design::Design;

pub use drawing::Drawing;
pub use fuses::{FuseBit, FuseCard};
pub use legs::{Leg, Side};
pub use parts::Item;

/// All that one needs at the bench.
#[derive(Debug, Clone, Serialize)]
pub struct Wiring {
    pub chip: &'static str,
    pub package: &'static str,
    /// Two rows of legs, drawn as such, or four.
    pub rows: u8,
    /// In order of their numbers.
    pub legs: Vec<Leg>,
    pub parts: Vec<Item>,
    /// The strings with their switches.
    pub strings: Vec<Drawing>,
    /// Low byte first.
    pub fuses: Vec<FuseCard>,
    /// Programs the fuses; `None`: they are right as delivered.
    pub fuse_command: Option<String>,
    /// What to know before the fuses are programmed.
    pub fuse_warnings: Vec<String>,
    pub cautions: Vec<String>,
}

/// The wiring of a project and its board, for the first package that its chip comes in.
pub fn wiring(design: &Design, board: &Board) -> Wiring {
    let circuit = &board.circuit;
    let plan = &design.plan;
    let package = &plan.chip.packages[0];
    let fuses = fuses::cards(plan);
    Wiring {
        chip: &plan.chip.title,
        package: &package.name,
        rows: package.rows,
        legs: legs::legs(design, package),
        parts: parts::parts(design, circuit),
        strings: drawing::drawings(design, circuit),
        fuse_command: fuses::command(plan),
        fuse_warnings: fuses::warnings(plan, &fuses),
        fuses,
        cautions: cautions::cautions(design, board),
    }
}

impl Wiring {
    /// As a person reads it.
    pub fn text(&self) -> String {
        text::text(self)
    }

    /// The package as a picture (SVG).
    pub fn svg(&self) -> String {
        svg::svg(self)
    }
}
