//! The knob: a potentiometer between supply and ground, with its wiper at a leg.

use super::SUPPLY;
use crate::board::wiring::bill::{Bill, Want};
use crate::board::wiring::ink::{At, Block, Ink, PART, Symbol};
use crate::circuit::knob_track;
use crate::design::Design;
use crate::target::Measured;

/// `None`: there is none.
pub(super) fn knob(bill: &mut Bill, design: &Design) -> Option<Block> {
    let written = design.project.knob.as_ref()?;
    let pin = design.plan.measured_at(Measured::Knob)?.pin;
    let name = &written.name.value;
    let track = knob_track(&design.project);
    let place = format!("{name}: supply to ground, wiper to {pin}");
    let knob = bill.add(1, Want::potentiometer(track), place);
    let capacitor = super::capacitor(bill, name);
    let mut ink = Ink::default();
    let leg = At::new(90, 90);
    super::leg(&mut ink, leg, pin, &capacitor);
    let top = leg.by(70, -PART / 2);
    ink.rail(top, SUPPLY);
    let end = ink.down(Symbol::Resistor, top, [&knob, &track.to_string()]);
    ink.ground(end);
    let wiper = leg.by(62, 0);
    ink.wire([leg, wiper]);
    ink.wire([wiper.by(-7, -4), wiper, wiper.by(-7, 4)]);
    Some(ink.block(format!("Knob {name}")))
}
