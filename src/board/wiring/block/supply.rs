//! Where current comes from, and what evens it out.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{Anchor, At, Block, Ink, PART, Symbol};
use crate::circuit::Circuit;
use crate::design::Design;
use crate::spec::{Battery, Electrics, Rail, Regulator, Supply};
use crate::units::Farads;

/// What evens out the current that the budget averages over a period of the PWM (common practice,
/// no source).
const SMOOTHING: Farads = Farads(47e-6);
/// Of a regulator's body.
const BODY: [i32; 2] = [80, 44];

/// `None`: nothing is said of it.
pub(super) fn supply(bill: &mut Bill, design: &Design, circuit: &Circuit) -> Option<Block> {
    let electrics = &design.project.electrics;
    let supply = electrics.supply.as_ref()?;
    let mut line = Line {
        bill,
        circuit,
        ink: Ink::default(),
        at: At::new(40, 70),
    };
    line.source(electrics, supply);
    if let Some(regulator) = &supply.regulator {
        line.ink.rail(line.at, Rail::Input.text());
        line.smooth(Rail::Input);
        line.regulator(supply, regulator);
    }
    line.ink.rail(line.at, SUPPLY);
    line.smooth(Rail::Supply);
    let volts = supply.volts.value;
    Some(line.ink.block(format!("Supply, {volts}")))
}

/// Along which current comes.
struct Line<'a> {
    bill: &'a mut Bill,
    circuit: &'a Circuit,
    ink: Ink,
    at: At,
}

impl Line<'_> {
    /// Goes on to the right, and joins what comes next.
    fn go(&mut self, by: i32) {
        let next = self.at.by(by, 0);
        self.ink.wire([self.at, next]);
        self.at = next;
    }

    fn source(&mut self, electrics: &Electrics, supply: &Supply) {
        match &electrics.battery {
            Some(battery) => self.battery(battery),
            None => self.connector(supply),
        }
    }

    fn battery(&mut self, battery: &Battery) {
        let want = Want::named(
            ItemKind::Cell,
            format!("cell, {}, {}", battery.full, battery.capacity),
        );
        let cells = self
            .bill
            .add(battery.cells, want.of(battery.full), "in series");
        let want = Want::named(
            ItemKind::Fuse,
            "fuse, a little above the most that is drawn",
        );
        let fuse = self.bill.add(1, want, "close to the battery");
        let value = format!("{} x {}", battery.cells, battery.full);
        let end = self.ink.down(Symbol::Cells, self.at, [&cells, &value]);
        self.ink.ground(end);
        self.go(20);
        self.at = self.ink.across(Symbol::Fuse, self.at, [&fuse, ""]);
        self.go(30);
    }

    fn connector(&mut self, supply: &Supply) {
        let volts = match &supply.regulator {
            Some(regulator) => {
                let (least, most) = regulator.input;
                if least == most {
                    least.to_string()
                } else {
                    format!("{least} to {most}")
                }
            }
            None => supply.volts.value.to_string(),
        };
        let want = Want::named(ItemKind::Connector, format!("connector for {volts}"));
        let mark = self.bill.add(1, want, "to where the current comes from");
        let corner = self.at.by(-24, -12);
        self.ink.frame(corner, 34, PART + 4);
        self.ink.words(corner.by(10, 17), Anchor::Start, "+");
        self.ink.words(corner.by(10, PART - 4), Anchor::Start, "-");
        self.ink
            .label(corner.by(0, PART + 20), Anchor::Start, [&mark, &volts]);
        let low = self.at.by(10, PART - 20);
        self.ink.wire([low, low.by(20, 0), low.by(20, 10)]);
        self.ink.ground(low.by(20, 10));
        self.at = self.at.by(10, 0);
        self.go(70);
    }

    /// Where strings hang on a rail.
    fn smooth(&mut self, rail: Rail) {
        let mut strings = self.circuit.strings.iter().flatten();
        if !strings.any(|hung| hung.rail == rail) {
            return;
        }
        let name = match rail {
            Rail::Input => "the regulator's input",
            Rail::Supply | Rail::Pump => SUPPLY,
        };
        let place = format!("{name} to ground, where its strings hang");
        let want = Want::valued(ItemKind::Capacitor, SMOOTHING, " to 100 uF");
        let mark = self.bill.add(1, want, place);
        self.ink.dot(self.at);
        let label = [mark.as_str(), &SMOOTHING.to_string()];
        let end = self.ink.down(Symbol::Electrolytic, self.at, label);
        self.ink.ground(end);
    }

    fn regulator(&mut self, supply: &Supply, regulator: &Regulator) {
        let volts = supply.volts.value;
        let what = format!("linear regulator {volts}, dropout {}", regulator.dropout);
        let want = Want::named(ItemKind::Regulator, what);
        let place = "with the capacitors and the heat sink that its datasheet asks for";
        let mark = self.bill.add(1, want.standing(regulator.rating), place);
        self.go(90);
        let [width, height] = BODY;
        self.ink.frame(self.at.by(0, -18), width, height);
        let middle = self.at.by(width / 2, 2);
        self.ink
            .label(middle, Anchor::Middle, [&mark, &volts.to_string()]);
        let foot = self.at.by(width / 2, height - 18);
        self.ink.wire([foot, foot.by(0, 14)]);
        self.ink.ground(foot.by(0, 14));
        self.at = self.at.by(width, 0);
        self.go(40);
    }
}
