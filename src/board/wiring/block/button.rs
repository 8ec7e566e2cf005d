//! The button and what keeps its leg quiet.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{Anchor, At, Block, Ink, Symbol};
use crate::design::Design;
use crate::units::{Farads, Ohms};

/// What a hand and a long wire bring is kept from the leg (common practice, no source).
const SERIES: Ohms = Ohms(1e3);
const CAPACITOR: Farads = Farads(100e-9);
/// Where the wire to the button is long, the chip's own is too weak.
const PULL_UP: Ohms = Ohms(4.7e3);
/// Far below any pin's impedance, and half a milliampere while pressed: common practice, no source.
const PULL_DOWN: Ohms = Ohms(10e3);

/// `None`: there is none.
pub(super) fn button(bill: &mut Bill, design: &Design) -> Option<Block> {
    let plan = design.plan.button.as_ref()?;
    let to_supply = design.project.button_to_supply();
    let place = if to_supply {
        "to the supply"
    } else {
        "to ground; the chip pulls up"
    };
    let button = bill.add(1, Want::named(ItemKind::Button, "push button"), place);
    let place = "button: in series, at its leg";
    let series = bill.add(1, Want::resistor(SERIES), place);
    let capacitor = bill.add(1, Want::ceramic(CAPACITOR), "button: its leg to ground");
    let mut ink = Ink::default();
    let leg = At::new(90, 110);
    ink.net(leg.by(-20, 0), &plan.pin.to_string());
    ink.wire([leg.by(-20, 0), leg]);
    ink.dot(leg);
    let end = ink.down_left(Symbol::Capacitor, leg, [&capacitor, &CAPACITOR.to_string()]);
    ink.ground(end);
    let at = leg.by(60, 0);
    ink.wire([leg, at]);
    if to_supply {
        let mark = bill.add(1, Want::resistor(PULL_DOWN), "the button's leg to ground");
        ink.dot(at);
        let end = ink.down(Symbol::Resistor, at, [&mark, &PULL_DOWN.to_string()]);
        ink.ground(end);
    } else {
        let place = "button: its leg to supply, where its wire is longer than 30 cm";
        let mark = bill.add(1, Want::resistor(PULL_UP), place);
        let top = leg.by(0, -50);
        ink.rail(top, SUPPLY);
        ink.down_left(Symbol::Resistor, top, [&mark, &PULL_UP.to_string()]);
        ink.words(top.by(16, 8), Anchor::Start, "if its wire is long");
    }
    let end = ink.across(Symbol::Resistor, at, [&series, &SERIES.to_string()]);
    let end = ink.across(Symbol::Button, end.by(10, 0), [&button, ""]);
    ink.wire([end.by(-60, 0), end.by(-50, 0)]);
    let last = end.by(14, 0);
    if to_supply {
        ink.wire([end, last, last.by(0, -10)]);
        ink.rail(last.by(0, -10), SUPPLY);
    } else {
        ink.wire([end, last, last.by(0, 10)]);
        ink.ground(last.by(0, 10));
    }
    Some(ink.block("Button"))
}
