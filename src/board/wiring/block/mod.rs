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

use super::bill::{Bill, Item, Want};
use super::ink::{At, Block, Ink, Symbol};
use super::legs::Leg;
use crate::chip::Pin;
use crate::circuit::Circuit;
use crate::design::Design;
use crate::units::Farads;

/// A circuit as it is drawn, and its parts.
pub(super) struct Sheet {
    pub(super) blocks: Vec<Block>,
    pub(super) items: Vec<Item>,
}

/// The name of what feeds the chip.
const SUPPLY: &str = "supply";
/// Voltage ratings of capacitors and transistors, over what they see (common practice, no source).
const IN_HAND: f64 = 1.5;
/// From an input's leg to ground, against what a hand and a long wire bring, and to keep what is measured still,
/// through however large a resistor (common practice, no source).
const CAPACITOR: Farads = Farads(100e-9);
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

/// Lists the capacitor of an input's leg; its mark.
fn capacitor(bill: &mut Bill, name: &str) -> String {
    let place = format!("{name}: its leg to ground");
    bill.add(1, Want::ceramic(CAPACITOR), place)
}

/// Draws an input's leg, and its capacitor by its mark.
fn leg(ink: &mut Ink, leg: At, pin: Pin, capacitor: &str) {
    ink.net(leg.by(-20, 0), &pin.to_string());
    ink.wire([leg.by(-20, 0), leg]);
    ink.dot(leg);
    let marks = [capacitor, &CAPACITOR.to_string()];
    let end = ink.down_left(Symbol::Capacitor, leg, marks);
    ink.ground(end);
}
