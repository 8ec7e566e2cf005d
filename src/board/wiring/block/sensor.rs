//! The sensor of light: a light-dependent resistor from a leg to ground, and a resistor to the supply.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{At, Block, Ink, PART, Symbol};
use crate::design::Design;
use crate::input::room::Divider;
use crate::target::Measured;

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
    let capacitor = super::capacitor(bill, name);
    let mut ink = Ink::default();
    let leg = At::new(90, 100);
    super::leg(&mut ink, leg, pin, &capacitor);
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
