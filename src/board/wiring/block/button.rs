//! The button and contacts, and what keeps their legs quiet.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{Anchor, At, Block, Ink, Symbol};
use crate::chip::Pin;
use crate::design::Design;
use crate::spec::{ButtonTo, Contact, Does};
use crate::target::PortPin;
use crate::units::Ohms;

/// What a hand and a long wire bring is kept from the leg (common practice, no source).
const SERIES: Ohms = Ohms(1e3);
/// Where the wire to the button is long, the chip's own is too weak.
const PULL_UP: Ohms = Ohms(4.7e3);
/// Far below any pin's impedance, and half a milliampere while pressed: common practice, no source.
const PULL_DOWN: Ohms = Ohms(10e3);

/// Something that closes between a leg and ground, or the supply.
struct Closing<'a> {
    title: &'a str,
    /// It is the button that has no name of its own.
    is_main: bool,
    /// What is said of its parts in the list.
    name: &'a str,
    part: &'a str,
    kind: ItemKind,
    symbol: Symbol,
    to: ButtonTo,
    pin: Pin,
}

/// `None`: there is none.
pub(super) fn button(bill: &mut Bill, design: &Design) -> Option<Block> {
    let plan = design.plan.button.as_ref()?;
    let to = match design.project.button_to_supply() {
        true => ButtonTo::Supply,
        false => ButtonTo::Ground,
    };
    let button = Closing {
        title: "Button",
        is_main: true,
        name: "button",
        part: "push button",
        kind: ItemKind::Button,
        symbol: Symbol::Button,
        to,
        pin: plan.pin,
    };
    Some(button.block(bill))
}

/// A block for each.
pub(super) fn contacts(bill: &mut Bill, design: &Design) -> Vec<Block> {
    let contacts = design.project.contacts.iter().zip(&design.plan.contacts);
    let block = |(contact, planned): (&Contact, &PortPin)| {
        let name = contact.name.value.as_str();
        let (word, part, kind, symbol) = match contact.does {
            Does::Plays(_) => ("Contact", "contact", ItemKind::Contact, Symbol::Contact),
            Does::Taps(_) => ("Button", "push button", ItemKind::Button, Symbol::Button),
        };
        let closing = Closing {
            title: &format!("{word} {name}"),
            is_main: false,
            name,
            part,
            kind,
            symbol,
            to: contact.to,
            pin: planned.pin,
        };
        closing.block(bill)
    };
    contacts.map(block).collect()
}

/// `None`: there is none.
pub(super) fn switch(bill: &mut Bill, design: &Design) -> Option<Block> {
    let (written, planned) = (
        design.project.selector.as_ref()?,
        design.plan.selector.as_ref()?,
    );
    let name = written.name.value.as_str();
    let switch = Closing {
        is_main: false,
        title: &format!("Switch {name}"),
        name,
        part: "on-off switch",
        kind: ItemKind::Switch,
        symbol: Symbol::Switch,
        to: written.to,
        pin: planned.pin,
    };
    Some(switch.block(bill))
}

impl Closing<'_> {
    fn block(&self, bill: &mut Bill) -> Block {
        let name = self.name;
        let to_supply = self.to == ButtonTo::Supply;
        let place = match self.to {
            ButtonTo::Supply => "to the supply",
            ButtonTo::Ground => "to ground; the chip pulls up",
        };
        let place = match self.is_main {
            true => place.to_string(),
            false => format!("{name}: {place}"),
        };
        let button = bill.add(1, Want::named(self.kind, self.part), place);
        let place = format!("{name}: in series, at its leg");
        let series = bill.add(1, Want::resistor(SERIES), place);
        let capacitor = super::capacitor(bill, name);
        let mut ink = Ink::default();
        let leg = At::new(90, 110);
        super::leg(&mut ink, leg, self.pin, &capacitor);
        let at = leg.by(60, 0);
        ink.wire([leg, at]);
        if to_supply {
            let mark = bill.add(1, Want::resistor(PULL_DOWN), self.to_ground());
            ink.dot(at);
            let end = ink.down(Symbol::Resistor, at, [&mark, &PULL_DOWN.to_string()]);
            ink.ground(end);
        } else {
            let place = format!("{name}: its leg to supply, where its wire is longer than 30 cm");
            let mark = bill.add(1, Want::resistor(PULL_UP), place);
            let top = leg.by(0, -50);
            ink.rail(top, SUPPLY);
            ink.down_left(Symbol::Resistor, top, [&mark, &PULL_UP.to_string()]);
            ink.words(top.by(16, 8), Anchor::Start, "if its wire is long");
        }
        let end = ink.across(Symbol::Resistor, at, [&series, &SERIES.to_string()]);
        let end = ink.across(self.symbol, end.by(10, 0), [&button, ""]);
        ink.wire([end.by(-60, 0), end.by(-50, 0)]);
        let last = end.by(14, 0);
        if to_supply {
            ink.wire([end, last, last.by(0, -10)]);
            ink.rail(last.by(0, -10), SUPPLY);
        } else {
            ink.wire([end, last, last.by(0, 10)]);
            ink.ground(last.by(0, 10));
        }
        ink.block(self.title)
    }

    fn to_ground(&self) -> String {
        match self.is_main {
            true => "the button's leg to ground".to_string(),
            false => format!("{}: its leg to ground, always", self.name),
        }
    }
}
