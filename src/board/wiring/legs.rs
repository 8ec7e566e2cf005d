//! What every leg of the package is for.

use serde::Serialize;

use crate::chip::{Package, Pin};
use crate::design::Design;
use crate::spec::{Active, ClockSource};

/// A leg of the package.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Leg {
    /// From 1.
    pub number: usize,
    /// Such as `PB2`, `VCC`.
    pub name: String,
    /// What goes there; empty: nothing.
    pub purpose: String,
    /// The same in a word or two, as a circuit's drawing has it.
    pub net: String,
    pub side: Side,
}

/// Where a leg sits, looked at from above with leg 1 at the top left.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    Left,
    Bottom,
    Right,
    Top,
}

pub(super) fn legs(design: &Design, package: &Package) -> Vec<Leg> {
    let count = package.legs.len();
    let legs = package.legs.iter().enumerate();
    legs.map(|(index, name)| {
        let purpose = name
            .parse()
            .map_or_else(|_| of_no_port(design, name), |pin| of_pin(design, pin));
        Leg {
            number: index + 1,
            net: in_short(&purpose),
            purpose,
            name: name.clone(),
            side: side(index, count, package.rows),
        }
    })
    .collect()
}

/// Without what is said of it: `reset: programmer, 10 kohm to supply` is `reset`.
fn in_short(purpose: &str) -> String {
    let uses = purpose.split("; ").map(|one| {
        let signal = one
            .strip_prefix("programmer (")
            .and_then(|rest| rest.strip_suffix(')'));
        let words = one.split([':', ',', '(']).next().unwrap_or_default();
        signal.unwrap_or(words).trim_end()
    });
    uses.filter(|one| !one.starts_with(char::is_numeric))
        .collect::<Vec<_>>()
        .join(", ")
}

fn side(index: usize, count: usize, rows: u8) -> Side {
    let sides: &[Side] = if rows == 2 {
        &[Side::Left, Side::Right]
    } else {
        &[Side::Left, Side::Bottom, Side::Right, Side::Top]
    };
    sides[index * sides.len() / count]
}

const RESET: &str = "reset: programmer, 10 kohm to supply";
const CRYSTAL: &str = "crystal";
const CLOCK: &str = "clock input";

/// Legs that are no port pins.
fn of_no_port(design: &Design, name: &str) -> String {
    let purpose = match (name, design.plan.clock.source) {
        ("VCC" | "AVCC" | "UVCC", _) => "supply, with 100 nF to ground",
        ("GND" | "AGND" | "UGND", _) => "ground",
        ("AREF", _) => "100 nF to ground, or nothing",
        // ATmega32U4 datasheet, 'USB module': for its internal regulator.
        ("UCAP", _) => "1 uF to ground",
        ("RESET", _) => RESET,
        ("XTAL1" | "XTAL2", ClockSource::Crystal) => CRYSTAL,
        ("XTAL1", ClockSource::External) => CLOCK,
        _ => "",
    };
    purpose.to_string()
}

fn of_pin(design: &Design, pin: Pin) -> String {
    let uses = [
        of_channels(design, pin),
        of_board(design, pin),
        of_clock(design, pin),
        of_programmer(design, pin),
    ];
    let uses: Vec<String> = uses.into_iter().flatten().collect();
    uses.join("; ")
}

fn of_channels(design: &Design, pin: Pin) -> Option<String> {
    let index = design
        .plan
        .drive
        .channels()
        .iter()
        .position(|plan| plan.pin == pin)?;
    let plan = &design.plan.drive.channels()[index];
    let lit = match plan.active {
        Active::High => "",
        Active::Low => ", lit when low",
    };
    let name = &design.project.channels[index].name.value;
    Some(format!("{name} ({}){lit}", plan.driven_by()))
}

fn of_board(design: &Design, pin: Pin) -> Option<String> {
    if design
        .plan
        .button
        .as_ref()
        .is_some_and(|button| button.pin == pin)
    {
        return Some(if design.project.button_to_supply() {
            "button, to supply; 10 kohm to ground".into()
        } else {
            "button, to ground".into()
        });
    }
    let pump = design.plan.drive.pump()?;
    let which = pump.pins.iter().position(|plan| plan.pin == pin)?;
    let stages = ["odd", "even"][which];
    Some(format!("charge pump, {stages} stages"))
}

fn of_clock(design: &Design, pin: Pin) -> Option<String> {
    let clocks = &design.plan.chip.clocks;
    match design.plan.clock.source {
        ClockSource::Crystal if clocks.crystal_pins.contains(&pin) => Some(CRYSTAL.into()),
        ClockSource::External if clocks.external_pin == Some(pin) => Some(CLOCK.into()),
        _ => None,
    }
}

fn of_programmer(design: &Design, pin: Pin) -> Option<String> {
    let chip = design.plan.chip;
    if chip.reset == Some(pin) {
        return Some(RESET.into());
    }
    let function = chip.programming.function(pin)?;
    Some(format!("programmer ({function})"))
}
