//! The chip, and what sits close to it.

use super::{RESET, SUPPLY};
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{At, Block, Ink, Symbol, width_of};
use crate::board::wiring::legs::{Leg, Side};
use crate::circuit::lowest_volts;
use crate::design::Design;
use crate::spec::ClockSource;
use crate::units::{Farads, Ohms};

/// From leg to leg.
const PITCH: i32 = 22;
/// Of a package with two rows of legs.
const BODY: i32 = 110;
/// How far a leg sticks out.
const LEG: i32 = 14;
/// From part to part.
const STEP: i32 = 100;

/// The package from above, each leg with the net that it is on.
pub(super) fn package(bill: &mut Bill, design: &Design, legs: &[Leg]) -> Block {
    let package = design.plan.package;
    let what = format!("{}, {}", title(design), package.name);
    let mark = bill.add(1, Want::named(ItemKind::Chip, what.as_str()), "the chip");
    let count = |side| legs.iter().filter(|leg| leg.side == side).count() as i32;
    let long = (count(Side::Left) + 1) * PITCH;
    let room = legs.iter().map(|leg| width_of(&words(leg))).max();
    let room = room.unwrap_or(0) + LEG + 16;
    let (wide, above) = match package.rows {
        2 => (BODY, 40),
        _ => (long, 40 + room),
    };
    let mut ink = Ink::default();
    let body = At::new(room, above);
    ink.frame(body, wide, long);
    ink.notch(body.by(PITCH, PITCH / 2));
    let mut on_side = std::collections::BTreeMap::new();
    for leg in legs {
        let index = on_side.entry(leg.side).or_insert(0);
        *index += 1;
        let along = *index * PITCH;
        // Numbers run against the clock from the top left.
        let (at, turn) = match leg.side {
            Side::Left => (body.by(0, along), 180),
            Side::Bottom => (body.by(along, long), 90),
            Side::Right => (body.by(wide, long - along), 0),
            Side::Top => (body.by(wide - along, 0), 270),
        };
        ink.leg(at, turn, leg.number, &leg.name, &leg.net);
    }
    let mut block = ink.block(format!("{mark} {what}, from above"));
    block.width = block.width.max(2 * room + wide);
    block.height = above + long + if package.rows == 2 { 10 } else { room };
    block
}

fn words(leg: &Leg) -> String {
    format!("{} {}", leg.name, leg.net)
}

/// With the version to buy, where there is more than one.
fn title(design: &Design) -> String {
    let plan = &design.plan;
    let lowest = lowest_volts(&design.project.electrics);
    let version = plan.chip.version_for(plan.clock.frequency, lowest);
    let suffix = version.map_or("", |version| version.suffix.as_str());
    format!("{}{suffix}", plan.chip.title)
}

/// Capacitors, and the resistor at the reset.
pub(super) fn around(bill: &mut Bill, design: &Design) -> Block {
    let legs = &design.plan.package.legs;
    let has = |name: &str| legs.iter().any(|leg| leg == name);
    let supplies = legs.iter().filter(|leg| leg.ends_with("VCC")).count() as u32;
    let mut ink = Ink::default();
    let mut at = At::new(30, 70);
    let from_to_ground = |ink: &mut Ink, at: At, symbol, label: [&str; 2]| {
        let end = ink.down(symbol, at, label);
        ink.ground(end);
    };
    let small = "each supply leg to ground, close to the chip";
    let mark = bill.add(supplies, Want::ceramic(DECOUPLING), small);
    let each = match supplies {
        1 => DECOUPLING.to_string(),
        _ => format!("{DECOUPLING} each"),
    };
    ink.rail(at, SUPPLY);
    from_to_ground(&mut ink, at, Symbol::Capacitor, [&mark, &each]);
    at = at.by(STEP, 0);
    let place = "supply to ground, at the chip";
    let mark = bill.add(1, Want::capacitor(RESERVE), place);
    ink.rail(at, SUPPLY);
    from_to_ground(
        &mut ink,
        at,
        Symbol::Electrolytic,
        [&mark, &RESERVE.to_string()],
    );
    at = at.by(STEP, 0);
    let mark = bill.add(1, Want::resistor(PULL_UP), "reset to supply");
    ink.rail(at, SUPPLY);
    let end = ink.down(Symbol::Resistor, at, [&mark, &PULL_UP.to_string()]);
    ink.wire([end, end.by(0, 12), end.by(-10, 12)]);
    ink.net(end.by(-10, 12), RESET);
    // ATmega32U4 datasheet, 'USB module': UCAP is for its internal regulator.
    for (leg, capacitor) in [("AREF", DECOUPLING), ("UCAP", Farads(1e-6))] {
        if has(leg) {
            at = at.by(STEP, 0);
            let mark = bill.add(1, Want::ceramic(capacitor), format!("{leg} to ground"));
            ink.net(at.by(10, 0), leg);
            ink.wire([at.by(10, 0), at.by(20, 0)]);
            let label = [mark.as_str(), &capacitor.to_string()];
            from_to_ground(&mut ink, at.by(20, 0), Symbol::Capacitor, label);
        }
    }
    ink.block("Close to the chip")
}

const DECOUPLING: Farads = Farads(100e-9);
const RESERVE: Farads = Farads(10e-6);
/// Microchip AN2519, 'AVR Microcontroller Hardware Design Considerations', on the reset pin (from
/// memory).
const PULL_UP: Ohms = Ohms(10e3);
/// Datasheets, 'Crystal Oscillator': 12 to 22 pF.
const LOAD: Farads = Farads(18e-12);

/// `None`: there is none.
pub(super) fn crystal(bill: &mut Bill, design: &Design) -> Option<Block> {
    let clock = &design.plan.clock;
    if clock.source != ClockSource::Crystal {
        return None;
    }
    let frequency = clock.oscillator;
    let want = Want::named(ItemKind::Crystal, format!("crystal {frequency}")).of(frequency);
    let mark = bill.add(1, want, "between the two crystal legs");
    let place = "each crystal leg to ground (12 to 22 pF, as the crystal's datasheet has it)";
    let loads = bill.add(2, Want::ceramic(LOAD), place);
    let [first, second] = [0, 1].map(|index| design.plan.chip.clocks.crystal_pins.get(index));
    let name = |pin: Option<&crate::chip::Pin>, leg: &str| {
        pin.map_or_else(|| leg.to_string(), ToString::to_string)
    };
    let mut ink = Ink::default();
    let left = At::new(90, 76);
    ink.net(left.by(-20, 0), &name(first, "XTAL1"));
    ink.wire([left.by(-20, 0), left]);
    let right = ink.across(Symbol::Crystal, left, [&mark, &frequency.to_string()]);
    ink.wire([right, right.by(20, 0)]);
    ink.net_at_end(right.by(20, 0), &name(second, "XTAL2"));
    ink.dot(left);
    ink.dot(right);
    let end = ink.down_left(Symbol::Capacitor, left, [&loads, &LOAD.to_string()]);
    ink.ground(end);
    let end = ink.down(Symbol::Capacitor, right, ["", ""]);
    ink.ground(end);
    Some(ink.block("Crystal, close to the chip"))
}
