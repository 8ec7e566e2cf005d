//! The circuit, block by block: each is drawn and put on the parts list in one go, so that every part
//! drawn is listed, under the same mark, and none else.
//!
//! Blocks are joined by nets of the same name: legs of the chip by the legs' names, rails by theirs.

mod button;
mod chip;
mod header;
mod knob;
mod pump;
mod sensor;
mod string;
mod supply;
mod switch;

use super::bill::{Bill, Item};
use super::ink::Block;
use super::legs::Leg;
use crate::circuit::Circuit;
use crate::design::Design;

/// A circuit as it is drawn, and its parts.
pub(super) struct Sheet {
    pub(super) blocks: Vec<Block>,
    pub(super) items: Vec<Item>,
}

/// The name of what feeds the chip.
const SUPPLY: &str = "supply";
/// Voltage ratings of capacitors and transistors, over what they see (common practice, no source).
const IN_HAND: f64 = 1.5;
/// In drawings.
const RESET: &str = "reset";

pub(super) fn sheet(design: &Design, circuit: &Circuit, legs: &[Leg]) -> Sheet {
    let mut bill = Bill::default();
    let mut blocks = vec![
        chip::package(&mut bill, design, legs),
        chip::around(&mut bill, design),
    ];
    blocks.push(header::header(&mut bill, design));
    blocks.extend(chip::crystal(&mut bill, design));
    blocks.extend(button::button(&mut bill, design));
    blocks.extend(button::contacts(&mut bill, design));
    blocks.extend(button::switch(&mut bill, design));
    blocks.extend(knob::knob(&mut bill, design));
    blocks.extend(sensor::sensor(&mut bill, design));
    blocks.extend(string::strings(&mut bill, design, circuit));
    blocks.extend(pump::pump(&mut bill, design, circuit));
    blocks.extend(supply::supply(&mut bill, design, circuit));
    Sheet {
        blocks,
        items: bill.items(),
    }
}
