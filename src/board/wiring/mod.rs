//! The wiring card: which leg goes where, which parts are needed, how the fuses are set, and what to
//! mind.

mod bill;
mod block;
mod cautions;
mod drawing;
mod fuses;
mod ink;
mod legs;
mod svg;
mod text;

use serde::Serialize;

use self::ink::Block;
use super::Board;
use crate::design::Design;

pub use bill::{Figure, Item, ItemKind};
pub use drawing::Drawing;
pub use fuses::{FuseBit, FuseCard};
pub use legs::{Leg, Side};
pub use svg::BlockPicture;

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
    /// The whole circuit, drawn.
    #[serde(skip)]
    blocks: Vec<Block>,
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
    let package = plan.package;
    let fuses = fuses::cards(plan);
    let legs = legs::legs(design, package);
    let sheet = block::sheet(design, circuit, &legs);
    Wiring {
        chip: &plan.chip.title,
        package: &package.name,
        rows: package.rows,
        legs,
        parts: sheet.items,
        blocks: sheet.blocks,
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

    /// The whole circuit as a picture (SVG).
    pub fn svg(&self) -> String {
        svg::svg(self)
    }

    /// The whole circuit as pictures (SVG), one for each part of it: a page lays them out by its width.
    pub fn block_svgs(&self) -> Vec<BlockPicture> {
        svg::blocks(self)
    }
}
