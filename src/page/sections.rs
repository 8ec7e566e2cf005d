//! What the page says besides playing: cautions, the budget as bars, the pins.

use base64::Engine;
use base64::prelude::BASE64_STANDARD;
use serde::Serialize;

use crate::board::Wiring;
use crate::budget::Verdict;
use crate::circuit::knob_track;
use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::input::room::Divider;
use crate::row::Judgement;
use crate::spec::{ButtonTo, Does};
use crate::target::Measured;

/// Something to know before building it.
#[derive(Debug, Serialize)]
pub(super) struct Caution {
    pub title: String,
    pub hint: String,
}

/// A row of the budget.
#[derive(Debug, Serialize)]
pub(super) struct Bar {
    pub what: &'static str,
    pub figure: String,
    pub limit: String,
    /// Of the limit; `None`: there is none.
    pub used: Option<f64>,
    pub verdict: String,
    pub note: String,
}

/// What hangs on a pin.
#[derive(Debug, Serialize)]
pub(super) struct Place {
    pub what: String,
    pub pin: String,
    pub how: String,
}

/// A part of the circuit.
#[derive(Debug, Serialize)]
pub(super) struct Drawn {
    pub title: String,
    /// As SVG, in base64.
    pub svg: String,
}

/// A line of the parts list.
#[derive(Debug, Serialize)]
pub(super) struct Bought {
    pub marks: String,
    pub count: u32,
    pub what: String,
    pub place: String,
}

/// What holds for flashing light on this very page.
const HERE: &str =
    "Patterns that flash more than three times in a second play here only when you ask for it.";

pub(super) fn cautions(design: &Design, card: &Wiring, more: &[Diagnostic]) -> Vec<Caution> {
    let told = design.plan.cautions.iter().chain(more);
    let told = told.map(|caution| Caution {
        title: format!("{} ({})", caution.message, caution.code),
        hint: caution.hint.clone().unwrap_or_default(),
    });
    let here = Caution {
        title: HERE.to_string(),
        hint: String::new(),
    };
    let board = card.cautions.iter().map(|caution| Caution {
        title: (*caution).to_string(),
        hint: String::new(),
    });
    std::iter::once(here).chain(board).chain(told).collect()
}

pub(super) fn bars(verdict: &Verdict) -> Vec<Bar> {
    let bar = |row: &crate::row::Row| {
        let used = row.limit.used(row.figure.value());
        Bar {
            what: row.what,
            figure: row.figure.to_string(),
            limit: row.limit.text(),
            used: used.map(|used| (used * 1000.0).round() / 1000.0),
            verdict: row.verdict.to_string(),
            note: match row.verdict {
                Judgement::Fits => String::new(),
                _ => row.note.clone(),
            },
        }
    };
    verdict.rows.iter().map(bar).collect()
}

pub(super) fn circuit(card: &Wiring) -> Vec<Drawn> {
    let blocks = card.block_svgs().into_iter();
    blocks
        .map(|block| Drawn {
            title: block.title,
            svg: BASE64_STANDARD.encode(block.svg),
        })
        .collect()
}

pub(super) fn parts(card: &Wiring) -> Vec<Bought> {
    let items = card.parts.iter();
    items
        .map(|item| Bought {
            marks: item.marked(),
            count: item.count,
            what: item.what.clone(),
            place: item.place.clone(),
        })
        .collect()
}

pub(super) fn pins(design: &Design) -> Vec<Place> {
    let plan = &design.plan;
    let channels = design.project.channels.iter().zip(plan.drive.channels());
    let mut places: Vec<Place> = channels
        .map(|(channel, place)| Place {
            what: channel.name.value.clone(),
            pin: place.pin.to_string(),
            how: format!(
                "{}, lit while {}",
                place.driven_by(),
                match place.active {
                    crate::spec::Active::High => "high",
                    crate::spec::Active::Low => "low",
                }
            ),
        })
        .collect();
    if let Some(button) = &plan.button {
        places.push(Place {
            what: "button".to_string(),
            pin: button.pin.to_string(),
            how: if design.project.button_to_supply() {
                "to the supply, with 10 kohm to ground".to_string()
            } else {
                "to ground, with the chip's pull-up".to_string()
            },
        });
    }
    for (contact, pin) in design.project.contacts.iter().zip(&plan.contacts) {
        let does = match &contact.does {
            Does::Plays(once) => {
                let pattern = design.project.pattern(once.pattern.value);
                format!("plays {}", pattern.name.value)
            }
            Does::Taps(tap) => format!("a button that {}", tap.does()),
        };
        places.push(Place {
            what: contact.name.value.clone(),
            pin: pin.pin.to_string(),
            how: match contact.to {
                ButtonTo::Supply => format!("to the supply, with 10 kohm to ground; {does}"),
                ButtonTo::Ground => format!("to ground, with the chip's pull-up; {does}"),
            },
        });
    }
    for (selector, pin) in design.project.selector.iter().zip(&plan.selector) {
        places.push(Place {
            what: selector.name.value.clone(),
            pin: pin.pin.to_string(),
            how: match selector.to {
                ButtonTo::Supply => "to the supply, with 10 kohm to ground; chooses the show",
                ButtonTo::Ground => "to ground, with the chip's pull-up; chooses the show",
            }
            .to_string(),
        });
    }
    places.extend(measured(design));
    for pin in plan.drive.pump().into_iter().flat_map(|pump| &pump.pins) {
        places.push(Place {
            what: "charge pump".to_string(),
            pin: pin.pin.to_string(),
            how: "clock, in opposite phase to the other".to_string(),
        });
    }
    places
}

/// Where a voltage is measured.
fn measured(design: &Design) -> Vec<Place> {
    let plan = &design.plan;
    let mut places = Vec::new();
    for (knob, pin) in (design.project.knob.iter()).zip(plan.measured_at(Measured::Knob)) {
        places.push(Place {
            what: knob.name.value.clone(),
            pin: pin.pin.to_string(),
            how: format!(
                "the wiper of a potentiometer of {}, supply to ground; sets the brightness",
                knob_track(&design.project)
            ),
        });
    }
    for (sensor, pin) in (design.project.sensor.iter()).zip(plan.measured_at(Measured::Room)) {
        places.push(Place {
            what: sensor.name.value.clone(),
            pin: pin.pin.to_string(),
            how: format!(
                "a light-dependent resistor to ground, {} to the supply; on below {}",
                Divider::new(sensor).upper,
                sensor.dark.value
            ),
        });
    }
    places
}
