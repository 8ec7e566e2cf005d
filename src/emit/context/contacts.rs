//! Contacts that play something, and further buttons.

use serde::Serialize;

use super::once::{PlayedText, played};
use super::parts::time;
use super::watched::WatchedText;
use crate::conduct::{Action, Cause, Kept, Onward};
use crate::design::Design;
use crate::input::Event;
use crate::input::contact::ContactTicks;
use crate::spec::ButtonTo;

/// A contact, or a button that goes from scene to scene.
#[derive(Debug, Serialize)]
pub(super) struct ContactText {
    /// As the project calls it.
    name: String,
    /// What it counts in.
    variable: &'static str,
    #[serde(flatten)]
    watched: WatchedText,
    full: u16,
    plays: Option<PlayedText>,
    /// Where a tap goes.
    goes: Option<Onward>,
}

/// The buttons that set the brightness.
#[derive(Debug, Serialize)]
pub(super) struct DimmerText {
    /// As the project calls them, and where they are.
    brighter: ButtonText,
    darker: ButtonText,
    #[serde(flatten)]
    watched: WatchedText,
    full: u16,
    again: u16,
    repeat_time: String,
    step: u8,
    steps: u8,
    most: u8,
    /// Where among what is remembered the brightness is.
    place: u32,
}

#[derive(Debug, Serialize)]
struct ButtonText {
    name: String,
    #[serde(flatten)]
    watched: WatchedText,
}

/// In the order of the project.
pub(super) fn contacts(design: &Design) -> Vec<ContactText> {
    let contacts = design.firmware.contacts.iter();
    contacts
        .filter_map(|ticks| contact(design, *ticks))
        .collect()
}

fn contact(design: &Design, ticks: ContactTicks) -> Option<ContactText> {
    let cause = Cause::Input(Event::Closed(ticks.index));
    let (plays, goes) = match design.firmware.rules.action(cause)? {
        Action::Play(once) => (Some(played(design, once)), None),
        Action::Go(to) => (None, Some(to)),
        _ => return None,
    };
    let button = button(design, ticks.index, ticks.is_wide(), ticks.debounce);
    Some(ContactText {
        name: button.name,
        variable: ticks.name(),
        watched: button.watched,
        full: ticks.full(),
        plays,
        goes,
    })
}

/// What hangs on the pin of a contact, by its place.
fn button(design: &Design, at: u8, wide: bool, debounce: u16) -> ButtonText {
    let at = usize::from(at);
    let written = &design.project.contacts[at];
    ButtonText {
        name: written.name.value.clone(),
        watched: WatchedText::new(
            design,
            &design.plan.contacts[at],
            wide,
            written.to == ButtonTo::Supply,
            debounce,
        ),
    }
}

impl DimmerText {
    /// `None`: there are none.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let ticks = design.firmware.dimmer?;
        let of = |at| button(design, at, ticks.is_wide(), ticks.debounce);
        Some(Self {
            brighter: of(ticks.brighter),
            darker: of(ticks.darker),
            watched: of(ticks.darker).watched,
            full: ticks.full(),
            again: ticks.again(),
            repeat_time: time(design, ticks.repeat),
            step: ticks.step,
            steps: ticks.steps(),
            most: ticks.most,
            place: design.firmware.state.place(Kept::Dimmed)?.0,
        })
    }
}
