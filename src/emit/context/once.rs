//! What is played once: when power comes, and by contact.

use serde::Serialize;

use super::parts::{between, time};
use crate::conduct::{Action, Cause, Once};
use crate::design::Design;
use crate::input::Event;
use crate::input::contact::ContactTicks;
use crate::spec::ButtonTo;

#[derive(Debug, Serialize)]
pub(super) struct OnceText {
    /// What the time is counted in.
    #[serde(rename = "type")]
    kind: &'static str,
    /// …and as Rust has it.
    count: &'static str,
    begin: Option<PlayedText>,
    contacts: Vec<ContactText>,
}

/// A scene and its time.
#[derive(Debug, Serialize)]
struct PlayedText {
    scene: u8,
    name: String,
    ticks: u16,
    time: String,
}

#[derive(Debug, Serialize)]
struct ContactText {
    /// As the project calls it.
    name: String,
    /// What it counts in.
    variable: &'static str,
    #[serde(rename = "type")]
    kind: &'static str,
    count: &'static str,
    input: String,
    bit: u8,
    pin: String,
    /// The pin is high while it is closed.
    high: bool,
    debounce: u16,
    debounce_time: String,
    full: u16,
    plays: PlayedText,
}

impl OnceText {
    /// `None`: nothing is played once.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let firmware = &design.firmware;
        let rules = &firmware.rules;
        let contacts = firmware.contacts.iter();
        rules.plays_once().then(|| Self {
            kind: in_c(Once::is_wide(rules.once())),
            count: in_rust(Once::is_wide(rules.once())),
            begin: rules.begins_with().map(|once| played(design, once)),
            contacts: contacts
                .filter_map(|ticks| contact(design, *ticks))
                .collect(),
        })
    }
}

fn contact(design: &Design, ticks: ContactTicks) -> Option<ContactText> {
    let cause = Cause::Input(Event::Closed(ticks.index));
    let Action::Play(once) = design.firmware.rules.action(cause)? else {
        return None;
    };
    let index = usize::from(ticks.index);
    let (written, pin) = (
        &design.project.contacts[index],
        &design.plan.contacts[index],
    );
    Some(ContactText {
        name: written.name.value.clone(),
        variable: ticks.name(),
        kind: in_c(ticks.is_wide()),
        count: in_rust(ticks.is_wide()),
        input: pin.input.clone(),
        bit: pin.pin.bit,
        pin: pin.pin.to_string(),
        high: written.to == ButtonTo::Supply,
        debounce: ticks.debounce,
        debounce_time: between(design, ticks.debounce),
        full: ticks.full(),
        plays: played(design, once),
    })
}

fn played(design: &Design, once: Once) -> PlayedText {
    PlayedText {
        scene: once.scene,
        name: design.deck.image.score.scenes[usize::from(once.scene)]
            .name
            .clone(),
        ticks: once.ticks,
        time: time(design, once.ticks),
    }
}

fn in_c(wide: bool) -> &'static str {
    if wide { "uint16_t" } else { "uint8_t" }
}

fn in_rust(wide: bool) -> &'static str {
    if wide { "u16" } else { "u8" }
}
