//! The transistor that connects a string to ground, and what is around its base or gate.

use super::IN_HAND;
use super::string::Strung;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::drawing::kind;
use crate::board::wiring::ink::{Anchor, At, Ink, PART, REACH, Symbol};
use crate::circuit::{Base, GATE, PULL_DOWN, Sink};
use crate::spec::{Switch, SwitchDrive};
use crate::units::{Amps, Volts, Watts};

/// From the net's name to the first part.
const LEAD: i32 = 10;
/// From the last part to base or gate…
const TAIL: i32 = 20;
/// …and where a diode stands between them.
const LONG_TAIL: i32 = 40;

/// Below the string's end; `emitter` is the mark of a sink's resistor.
pub(super) fn switch(strung: &Strung, bill: &mut Bill, ink: &mut Ink, top: At, emitter: &str) {
    let string = &strung.hung.string;
    let base = top.by(-REACH, REACH);
    let control = match (strung.wanted.switch.value, string.sink, string.base) {
        (Switch::Npn, Some(sink), _) => {
            transistor(strung, bill, ink, base, "collector to the string");
            Control::of_sink(strung, bill, &sink)
        }
        (Switch::Npn, None, own) => {
            transistor(strung, bill, ink, base, "emitter to ground");
            if strung.wanted.drive.value == SwitchDrive::Clamp {
                clamp(strung, bill, ink, base);
            }
            Control::of_base(strung, bill, own.filter(|own| !own.built_in))
        }
        _ => {
            transistor(strung, bill, ink, base, "source to ground");
            Control::of_gate(strung, bill)
        }
    };
    let clamped = strung.wanted.drive.value == SwitchDrive::Clamp;
    let tail = if clamped { LONG_TAIL } else { TAIL };
    control.draw(ink, base, tail, &strung.leg);
    let foot = base.by(REACH, REACH);
    match string.sink {
        Some(_) => {
            let label = [emitter, &string.resistor.to_string()];
            let end = ink.down(Symbol::Resistor, foot, label);
            ink.ground(end);
        }
        None => ink.ground(foot),
    }
}

fn transistor(strung: &Strung, bill: &mut Bill, ink: &mut Ink, base: At, place: &str) {
    let string = &strung.hung.string;
    // In round figures, upwards.
    let total = Amps((string.most.0 * f64::from(string.parallel) * 1e3).ceil() / 1e3);
    let volts = Volts((strung.hung.volts.0 * IN_HAND).ceil());
    let (symbol, sort) = match strung.wanted.switch.value {
        Switch::Mosfet => (Symbol::Mosfet, "logic-level N-channel MOSFET"),
        Switch::Npn | Switch::Pin => (Symbol::Npn, "NPN transistor"),
    };
    let name = kind(strung.wanted, sort);
    let mut want = Want::named(ItemKind::Transistor, name)
        .standing(total)
        .standing(volts);
    // Used at half of its rating, as resistors are.
    let heat = string.transistor_heat(strung.hung.volts);
    if let Some(heat) = heat.filter(|_| symbol == Symbol::Npn) {
        want = want.standing(Watts((2e3 * heat.0).ceil() / 1e3));
    }
    let mark = bill.add(1, want.or_more(), strung.place(place));
    ink.part(symbol, base, 0);
    let name = kind(strung.wanted, "");
    let name = name.split(" with ").next().unwrap_or_default().trim();
    ink.label(base.by(REACH + 16, -2), Anchor::Start, [&mark, name]);
}

/// From base to collector.
fn clamp(strung: &Strung, bill: &mut Bill, ink: &mut Ink, base: At) {
    let want = Want::named(ItemKind::Diode, "small Schottky diode").standing(Amps(30e-3));
    let place = strung.place("base to collector, its cathode at the collector");
    let mark = bill.add(1, want.or_more(), place);
    let knot = base.by(-TAIL, 0);
    let top = knot.by(0, -PART);
    ink.dot(knot);
    ink.part(Symbol::Schottky, knot, 270);
    ink.label(top.by(12, 32), Anchor::Start, [&mark, ""]);
    let collector = base.by(REACH, -PART);
    ink.wire([top, collector]);
    ink.dot(collector);
}

/// What is between leg and base, and from there to ground.
struct Control {
    /// Mark and value; `None`: it is within the part.
    series: Option<[String; 2]>,
    /// Across it.
    capacitor: Option<[String; 2]>,
    to_ground: Option<[String; 2]>,
}

impl Control {
    fn of_sink(strung: &Strung, bill: &mut Bill, sink: &Sink) -> Self {
        let mut add = |ohms, place| Some(strung.resistor(bill, ohms, place));
        Self {
            series: add(sink.divider.upper, "from the leg to the base"),
            capacitor: None,
            to_ground: add(sink.divider.lower, "base to ground, off during reset"),
        }
    }

    /// `None`: the part has all that it needs.
    fn of_base(strung: &Strung, bill: &mut Bill, base: Option<Base>) -> Self {
        let Some(base) = base else {
            return Self {
                series: None,
                capacitor: None,
                to_ground: None,
            };
        };
        let capacitor = base.speed_up.map(|capacitor| {
            let place = strung.place("across the base's resistor");
            let mark = bill.add(1, Want::ceramic(capacitor), place);
            [mark, capacitor.to_string()]
        });
        let mut add = |ohms, place| Some(strung.resistor(bill, ohms, place));
        Self {
            capacitor,
            series: add(base.resistor, "from the leg to the base"),
            // Legs float in reset and while the chip is programmed.
            to_ground: add(PULL_DOWN, "base to emitter, off during reset"),
        }
    }

    fn of_gate(strung: &Strung, bill: &mut Bill) -> Self {
        let mut add = |ohms, place| Some(strung.resistor(bill, ohms, place));
        Self {
            series: add(GATE, "from the leg to the gate"),
            capacitor: None,
            to_ground: add(PULL_DOWN, "gate to ground: off during reset"),
        }
    }

    /// To the left of a base or a gate.
    fn draw(&self, ink: &mut Ink, base: At, tail: i32, leg: &str) {
        let knot = base.by(-tail, 0);
        ink.wire([knot, base]);
        let mut start = knot;
        if let Some([mark, value]) = &self.series {
            start = knot.by(-PART, 0);
            match &self.capacitor {
                Some([over, farads]) => {
                    ink.part(Symbol::Resistor, start, 0);
                    let words = format!("{mark} {value}");
                    ink.words(knot.by(-10, 20), Anchor::End, &words);
                    let above = start.by(0, -26);
                    ink.across(Symbol::Capacitor, above, [over, farads]);
                    ink.wire([start, above]);
                    ink.wire([knot, knot.by(0, -26)]);
                    ink.dot(start);
                    ink.dot(knot);
                }
                None => {
                    ink.across(Symbol::Resistor, start, [mark, value]);
                }
            }
        }
        ink.wire([start.by(-LEAD, 0), start]);
        ink.net(start.by(-LEAD, 0), leg);
        if let Some([mark, value]) = &self.to_ground {
            ink.dot(knot);
            let low = if self.capacitor.is_some() { 16 } else { 0 };
            ink.wire([knot, knot.by(0, low)]);
            let end = ink.down_left(Symbol::Resistor, knot.by(0, low), [mark, value]);
            ink.ground(end);
        }
    }
}
