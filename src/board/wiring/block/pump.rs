//! The charge pump's ladder.

use super::{IN_HAND, SUPPLY};
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{At, Block, Ink, PART, Symbol};
use crate::circuit::Circuit;
use crate::circuit::pump::{BLEEDER, Pump};
use crate::design::Design;
use crate::spec::Rail;
use crate::units::{Amps, Ohms, Volts};

/// Usual voltage ratings of capacitors.
const RATINGS: [f64; 8] = [6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0];

/// From node to node.
const STEP: i32 = PART + 14;
/// Where capacitors of odd and of even stages end.
const BUSES: [i32; 2] = [80, 130];
const LADDER: i32 = 76;
/// Of the first diode.
const START: i32 = 110;

/// Marks of what it is made of.
struct Marks {
    /// `None`: the capacitors hang right on the legs.
    series: Option<String>,
    capacitors: String,
    diodes: String,
    reservoir: String,
    bleeder: String,
}

impl Marks {
    fn new(bill: &mut Bill, pump: &Pump, resistor: Ohms) -> Self {
        let open = pump.output(Amps(0.0));
        let rated = |want: Want| {
            let usual = RATINGS
                .iter()
                .find(|&&rating| rating >= open.0 * IN_HAND)
                .map_or(Volts((open.0 * IN_HAND).ceil()), |&rating| Volts(rating));
            want.standing(usual).or_more()
        };
        let swing = Volts(2.0 * pump.supply.0);
        let diode = Want::named(ItemKind::Diode, "small Schottky diode").standing(swing);
        let mut add =
            |count, want, place: &str| bill.add(count, want, format!("charge pump: {place}"));
        Self {
            series: (resistor.0 > 0.0)
                .then(|| add(2, Want::resistor(resistor), "in series with each leg")),
            capacitors: add(
                pump.stages,
                rated(Want::capacitor(pump.capacitor)),
                "from each node to its leg, in turn",
            ),
            diodes: add(
                pump.stages + 1,
                diode.or_more(),
                "in a row from the supply to the output",
            ),
            reservoir: add(
                1,
                rated(Want::capacitor(pump.reservoir)),
                "output to ground",
            ),
            bleeder: add(
                1,
                Want::resistor(BLEEDER),
                "output to ground, to discharge it",
            ),
        }
    }
}

/// `None`: there is none.
pub(super) fn pump(bill: &mut Bill, design: &Design, circuit: &Circuit) -> Option<Block> {
    let pump = circuit.pump.as_ref()?;
    let written = design.project.electrics.pump.as_ref();
    let resistor = written.map_or(Ohms(0.0), |written| written.resistor);
    let marks = Marks::new(bill, pump, resistor);
    let mut ink = Ink::default();
    let end = ladder(&mut ink, pump, &marks);
    for (which, pin) in design.plan.drive.pump()?.pins.iter().enumerate() {
        let series = marks.series.as_ref().map(|mark| (mark.as_str(), resistor));
        bus(
            &mut ink,
            pump.stages as i32,
            which,
            &pin.pin.to_string(),
            series,
        );
    }
    output(&mut ink, end, pump, &marks);
    let open = pump.output(Amps(0.0));
    Some(ink.block(format!("Charge pump, {open} without a load")))
}

/// Diodes, and a capacitor at each node but the last; gives the last.
fn ladder(ink: &mut Ink, pump: &Pump, marks: &Marks) -> At {
    let mut at = At::new(START, LADDER);
    ink.wire([at, at.by(-40, 0)]);
    ink.rail(at.by(-40, 0), SUPPLY);
    let value = pump.capacitor.to_string();
    for node in 0..=pump.stages {
        let [diode, capacitor] = match node {
            0 => [[marks.diodes.as_str(), ""], [&marks.capacitors, &value]],
            _ => [["", ""]; 2],
        };
        let end = ink.across(Symbol::Schottky, at, diode);
        ink.wire([end, end.by(STEP - PART, 0)]);
        at = at.by(STEP, 0);
        ink.dot(at);
        if node < pump.stages {
            let end = ink.down(Symbol::Capacitor, at, capacitor);
            let bus = At::new(end.x, LADDER + BUSES[node as usize % 2]);
            ink.wire([end, bus]);
            ink.dot(bus);
        }
    }
    at
}

/// From a leg to the capacitors that it drives.
fn bus(ink: &mut Ink, stages: i32, which: usize, leg: &str, series: Option<(&str, Ohms)>) {
    // The last stage that hangs on it.
    let last = (stages - 1 - which as i32).div_euclid(2) * 2 + which as i32;
    if last < 0 {
        return;
    }
    let y = LADDER + BUSES[which];
    let mut from = At::new(70, y);
    ink.net(from, leg);
    if let Some((mark, resistor)) = series {
        let value = resistor.to_string();
        let label = if which == 0 { [mark, &value] } else { ["", ""] };
        from = ink.across(Symbol::Resistor, from, label);
    }
    ink.wire([from, At::new(START + STEP * (last + 1), y)]);
}

fn output(ink: &mut Ink, at: At, pump: &Pump, marks: &Marks) {
    let label = [marks.reservoir.as_str(), &pump.reservoir.to_string()];
    let end = ink.down(Symbol::Electrolytic, at, label);
    ink.ground(end);
    let out = at.by(90, 0);
    ink.wire([at, out]);
    ink.dot(out);
    ink.rail(out, Rail::Pump.text());
    let label = [marks.bleeder.as_str(), &BLEEDER.to_string()];
    let end = ink.down(Symbol::Resistor, out, label);
    ink.ground(end);
}
