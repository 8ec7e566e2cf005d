//! The knob: a potentiometer between supply and ground, with its wiper at a leg.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, Want};
use crate::board::wiring::ink::{At, Block, Ink, PART, Symbol};
use crate::circuit::knob_track;
use crate::design::Design;
use crate::target::Measured;
use crate::units::Farads;

/// What keeps the voltage still while it is measured, whatever the track (common practice, no source).
const CAPACITOR: Farads = Farads(100e-9);

/// `None`: there is none.
pub(super) fn knob(bill: &mut Bill, design: &Design) -> Option<Block> {
    let written = design.project.knob.as_ref()?;
    let pin = design.plan.measured_at(Measured::Knob)?.pin;
    let name = &written.name.value;
    let track = knob_track(&design.project);
    let place = format!("{name}: supply to ground, wiper to {pin}");
    let knob = bill.add(1, Want::potentiometer(track), place);
    let place = format!("{name}: its leg to ground");
    let capacitor = bill.add(1, Want::ceramic(CAPACITOR), place);
    let mut ink = Ink::default();
    let leg = At::new(90, 90);
    ink.net(leg.by(-20, 0), &pin.to_string());
    ink.wire([leg.by(-20, 0), leg]);
    ink.dot(leg);
    let end = ink.down_left(Symbol::Capacitor, leg, [&capacitor, &CAPACITOR.to_string()]);
    ink.ground(end);
    let top = leg.by(70, -PART / 2);
    ink.rail(top, SUPPLY);
    let end = ink.down(Symbol::Resistor, top, [&knob, &track.to_string()]);
    ink.ground(end);
    let wiper = leg.by(62, 0);
    ink.wire([leg, wiper]);
    ink.wire([wiper.by(-7, -4), wiper, wiper.by(-7, 4)]);
    Some(ink.block(format!("Knob {name}")))
}
