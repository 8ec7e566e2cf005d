//! What every leg of the package is for.

use serde::Serialize;

use crate::chip::{Package, Pin};
use crate::design::Design;
use crate::spec::{Active, ButtonTo, ClockSource, Does};
use crate::target::Measured;

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
        let uses: Vec<Use> = match name.parse() {
            Ok(pin) => of_pin(design, pin),
            Err(_) => of_no_port(design, name).into_iter().collect(),
        };
        let nets = uses.iter().map(|one| one.net.as_str());
        let nets: Vec<&str> = nets.filter(|net| !net.is_empty()).collect();
        let purposes: Vec<&str> = uses.iter().map(|one| one.purpose.as_str()).collect();
        Leg {
            number: index + 1,
            net: nets.join(", "),
            purpose: purposes.join("; "),
            name: name.clone(),
            side: side(index, count, package.rows),
        }
    })
    .collect()
}

/// One use of a leg.
struct Use {
    /// Empty: it is on a net of its own.
    net: String,
    purpose: String,
}

impl Use {
    fn new(net: impl Into<String>, more: impl AsRef<str>) -> Self {
        let net = net.into();
        let purpose = net.clone() + more.as_ref();
        Self { net, purpose }
    }

    /// Nothing else is joined to it.
    fn alone(purpose: &str) -> Self {
        Self {
            net: String::new(),
            purpose: purpose.to_string(),
        }
    }

    fn reset() -> Self {
        Self::new("reset", ": programmer, 10 kohm to supply")
    }

    fn crystal() -> Self {
        Self::new("crystal", "")
    }

    fn clock() -> Self {
        Self::new("clock input", "")
    }
}

fn side(index: usize, count: usize, rows: u8) -> Side {
    let sides: &[Side] = if rows == 2 {
        &[Side::Left, Side::Right]
    } else {
        &[Side::Left, Side::Bottom, Side::Right, Side::Top]
    };
    sides[index * sides.len() / count]
}

/// Legs that are no port pins.
fn of_no_port(design: &Design, name: &str) -> Option<Use> {
    Some(match (name, design.plan.clock.source) {
        ("VCC" | "AVCC" | "UVCC", _) => Use::new("supply", ", with 100 nF to ground"),
        ("GND" | "AGND" | "UGND", _) => Use::new("ground", ""),
        ("AREF", _) => Use::alone("100 nF to ground, or nothing"),
        // ATmega32U4 datasheet, 'USB module': for its internal regulator.
        ("UCAP", _) => Use::alone("1 uF to ground"),
        ("RESET", _) => Use::reset(),
        ("XTAL1" | "XTAL2", ClockSource::Crystal) => Use::crystal(),
        ("XTAL1", ClockSource::External) => Use::clock(),
        _ => return None,
    })
}

fn of_pin(design: &Design, pin: Pin) -> Vec<Use> {
    let uses = [
        of_channels(design, pin),
        of_board(design, pin),
        of_clock(design, pin),
        of_programmer(design, pin),
    ];
    uses.into_iter().flatten().collect()
}

fn of_channels(design: &Design, pin: Pin) -> Option<Use> {
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
    Some(Use::new(name, format!(" ({}){lit}", plan.driven_by())))
}

fn of_board(design: &Design, pin: Pin) -> Option<Use> {
    if design
        .plan
        .button
        .as_ref()
        .is_some_and(|button| button.pin == pin)
    {
        let more = if design.project.button_to_supply() {
            ", to supply; 10 kohm to ground"
        } else {
            ", to ground"
        };
        return Some(Use::new("button", more));
    }
    let contacts = design.project.contacts.iter().zip(&design.plan.contacts);
    if let Some((contact, _)) = contacts.into_iter().find(|(_, planned)| planned.pin == pin) {
        let more = match contact.to {
            ButtonTo::Supply => ", to supply; 10 kohm to ground",
            ButtonTo::Ground => ", to ground",
        };
        let kind = match contact.does {
            Does::Plays(_) => "contact",
            Does::Taps(_) => "button",
        };
        return Some(Use::new(&contact.name.value, format!(" ({kind}){more}")));
    }
    let selector = design.project.selector.iter().zip(&design.plan.selector);
    if let Some((selector, _)) = selector.into_iter().find(|(_, planned)| planned.pin == pin) {
        let more = match selector.to {
            ButtonTo::Supply => ", to supply; 10 kohm to ground",
            ButtonTo::Ground => ", to ground",
        };
        return Some(Use::new(&selector.name.value, format!(" (switch){more}")));
    }
    if let Some(used) = of_converter(design, pin) {
        return Some(used);
    }
    let pump = design.plan.drive.pump()?;
    let which = pump.pins.iter().position(|plan| plan.pin == pin)?;
    let stages = ["odd", "even"][which];
    Some(Use::new("charge pump", format!(", {stages} stages")))
}

fn of_converter(design: &Design, pin: Pin) -> Option<Use> {
    let project = &design.project;
    let mut measures = design.plan.converter.iter().flat_map(|one| &one.measures);
    let measure = measures.find(|measure| measure.pin.as_ref().is_some_and(|at| at.pin == pin))?;
    Some(match measure.what {
        Measured::Knob => Use::new(
            &project.knob.as_ref()?.name.value,
            " (knob), from its wiper",
        ),
        Measured::Room => Use::new(
            &project.sensor.as_ref()?.name.value,
            " (sensor), between its two resistors",
        ),
        // It is at no pin.
        Measured::Cells => return None,
    })
}

fn of_clock(design: &Design, pin: Pin) -> Option<Use> {
    let clocks = &design.plan.chip.clocks;
    match design.plan.clock.source {
        ClockSource::Crystal if clocks.crystal_pins.contains(&pin) => Some(Use::crystal()),
        ClockSource::External if clocks.external_pin == Some(pin) => Some(Use::clock()),
        _ => None,
    }
}

fn of_programmer(design: &Design, pin: Pin) -> Option<Use> {
    let chip = design.plan.chip;
    if chip.reset == Some(pin) {
        return Some(Use::reset());
    }
    let function = chip.programming.function(pin)?;
    Some(Use {
        net: function.to_string(),
        purpose: format!("programmer ({function})"),
    })
}
