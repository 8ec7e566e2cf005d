//! The sensor of light: a light-dependent resistor from a leg to ground, and a resistor to the supply.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{At, Block, Ink, PART, Symbol};
use crate::design::Design;
use crate::input::room::Divider;
use crate::target::Measured;
use crate::units::Farads;

/// What keeps the voltage still while it is measured, through so large a resistor (common practice, no source).
const CAPACITOR: Farads = Farads(100e-9);

/// `None`: there is none.
pub(super) fn sensor(bill: &mut Bill, design: &Design) -> Option<Block> {
    let written = design.project.sensor.as_ref()?;
    let pin = design.plan.measured_at(Measured::Room)?.pin;
    let name = &written.name.value;
    let divider = Divider::new(written);
    let place = format!("{name}: {pin} to ground, where no string shines on it");
    let cell = format!("light-dependent resistor, {} at 10 lux", divider.lower);
    let cell = bill.add(1, Want::named(ItemKind::Photoresistor, cell), place);
    let place = format!("{name}: {pin} to supply");
    let upper = bill.add(1, Want::resistor(divider.upper), place);
    let place = format!("{name}: its leg to ground");
    let capacitor = bill.add(1, Want::ceramic(CAPACITOR), place);
    let mut ink = Ink::default();
    let leg = At::new(90, 100);
    ink.net(leg.by(-20, 0), &pin.to_string());
    ink.wire([leg.by(-20, 0), leg]);
    ink.dot(leg);
    let end = ink.down_left(Symbol::Capacitor, leg, [&capacitor, &CAPACITOR.to_string()]);
    ink.ground(end);
    let knot = leg.by(70, 0);
    ink.wire([leg, knot]);
    ink.dot(knot);
    let top = knot.by(0, -PART);
    ink.rail(top, SUPPLY);
    ink.down(Symbol::Resistor, top, [&upper, &divider.upper.to_string()]);
    let end = ink.down(Symbol::Resistor, knot, [&cell, "by light"]);
    // Light that falls on it.
    for at in [knot.by(-34, 8), knot.by(-34, 20)] {
        let tip = at.by(18, 10);
        ink.wire([at, tip]);
        ink.wire([tip.by(-7, 0), tip, tip.by(-3, -6)]);
    }
    ink.ground(end);
    Some(ink.block(format!("Sensor {name}")))
}
