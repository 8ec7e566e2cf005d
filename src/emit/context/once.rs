//! What is played once: when power comes, and by contact.

use serde::Serialize;

use super::parts::time;
use super::watched::{WatchedText, in_c, in_rust};
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
    #[serde(flatten)]
    watched: WatchedText,
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
        watched: WatchedText::new(
            design,
            pin,
            ticks.is_wide(),
            written.to == ButtonTo::Supply,
            ticks.debounce,
        ),
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
