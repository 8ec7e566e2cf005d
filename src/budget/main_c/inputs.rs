//! What comes in, as far as it decides the size of `main.c`.

use super::Tally;
use crate::conduct::Once;
use crate::design::Design;
use crate::spec::{ButtonTo, Tap};

impl Tally {
    pub(super) fn button(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let rules = &firmware.rules;
        let wide = firmware.button.is_some_and(|button| button.is_wide());
        self.flag("button", firmware.button.is_some());
        self.flag("button, wide", wide);
        self.flag(
            "button, wide gap",
            firmware.button.is_some_and(|button| button.has_wide_gap()),
        );
        self.flag("taps", rules.taps());
        self.flag("holds", rules.holds());
        self.flag("taps and holds", rules.taps() && rules.holds());
        self.flag(
            "holds alone, shows that fade",
            rules.holds() && !rules.taps() && firmware.fade.is_some(),
        );
        self.flag("holds alone, wide", rules.holds() && !rules.taps() && wide);
        self.flag("wide taps", wide && rules.taps());
        let saves = firmware.remembers_choices();
        self.flag("button that saves", firmware.button.is_some() && saves);
    }

    pub(super) fn once(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let rules = &firmware.rules;
        if !rules.plays_once() {
            return;
        }
        let fade = firmware.fade.is_some();
        let begins = rules.begins_with().is_some();
        let played = || {
            let contacts = firmware.contacts.iter();
            contacts.filter(|contact| !goes(design, contact.index))
        };
        let contacts = played().count() as f64;
        let wide = played().filter(|contact| contact.is_wide());
        self.flag("once", true);
        self.flag("once, wide", Once::is_wide(rules.once()));
        self.flag("once, hops", rules.hops());
        self.flag("once, roams", rules.roams());
        self.flag("once, fade", fade);
        self.flag("once, fade, hops", fade && rules.hops());
        self.flag("once, begins", begins);
        self.flag("once, begins, no hops", begins && !rules.hops());
        self.flag("once, contacts", contacts > 0.0);
        self.add("once, contact", contacts);
        self.add("once, wide contact", wide.count() as f64);
        self.flag("once, several contacts", contacts > 1.0);
        self.flag("once, contacts that fade", contacts > 0.0 && fade);
        self.flag(
            "once, contacts, standby, fade",
            contacts > 0.0 && fade && rules.stands_by(),
        );
    }

    /// Further buttons that go from scene to scene.
    pub(super) fn further(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let buttons = || {
            let contacts = firmware.contacts.iter();
            contacts.filter(|contact| goes(design, contact.index))
        };
        let count = buttons().count();
        if count == 0 {
            return;
        }
        let several = design.deck.image.score.shows.len() > 1;
        let back = buttons().any(|button| {
            let contact = &design.project.contacts[usize::from(button.index)];
            contact.taps() == Some(Tap::Previous)
        });
        let wide = buttons().filter(|button| button.is_wide()).count();
        self.flag("tap button", true);
        self.add("tap button, each", count as f64);
        self.add("tap button, wide", wide as f64);
        self.flag("tap button, back", back);
        self.flag("tap button, back, shows", back && several);
        self.flag("tap button, no other", !firmware.rules.taps());
        self.flag("tap button, fade", firmware.fade.is_some());
        self.flag("tap button, roams", firmware.rules.roams());
        self.flag("tap button, once", firmware.rules.plays_once());
        if firmware.remembers_choices() {
            self.add("tap button, saves", count as f64);
        }
    }

    /// All but what is done to each channel's level.
    pub(super) fn dimmer(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let Some(dimmer) = firmware.dimmer else {
            return;
        };
        let saves = firmware.remembers_choices();
        self.flag("dimmer", true);
        self.flag("dimmer, wide", dimmer.is_wide());
        self.flag("dimmer, fade", firmware.fade.is_some());
        self.flag("dimmer, saves", saves);
        let rules = &firmware.rules;
        let alone = saves && !rules.chooses();
        self.flag("dimmer, saves alone", alone && !rules.hops());
        self.flag("dimmer, saves beside a switch", alone && rules.hops());
        let forgotten = !saves && !rules.hops();
        let draws = firmware.memory.is_some();
        self.flag("dimmer, forgotten", forgotten && !draws);
        self.flag("dimmer, forgotten, draws", forgotten && draws);
        self.flag("dimmer, one scene", !rules.changes());
        self.flag("dimmer, no button", firmware.button.is_none());
        self.flag(
            "dimmer, standby alone",
            rules.stands_by() && !rules.changes(),
        );
        let state = firmware.memory.as_ref().map_or(0, |memory| memory.state.0);
        self.flag(&format!("dimmer, state of {}", state.min(6)), state > 0);
    }

    pub(super) fn switch(&mut self, design: &Design) {
        let Some(switch) = design.firmware.switch else {
            return;
        };
        let rules = &design.firmware.rules;
        self.flag("switch", true);
        self.flag("switch, wide", switch.is_wide());
        self.flag("switch, fade", design.firmware.fade.is_some());
        self.flag("switch, once", rules.plays_once());
        self.flag("switch, taps", rules.taps());
        self.flag("switch, roams", rules.roams());
        let supply = design.project.selector.as_ref();
        let supply = supply.is_some_and(|selector| selector.to == ButtonTo::Supply);
        self.flag("switch, to supply", supply);
    }

    /// A knob and the supply: all but a call and what follows from cells is assembly.
    pub(super) fn measured(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let measures = firmware.measures();
        let speed = firmware.pacer().is_some();
        let fade = firmware.fade.is_some();
        let guard = firmware.cells.is_some();
        self.flag("measures", measures);
        self.flag("measures, fade", firmware.has_gain() && fade);
        self.flag("speed", speed);
        self.flag("speed, once", speed && firmware.rules.plays_once());
        self.flag("guard", guard);
        self.flag("guard, fade", guard && fade);
        self.flag("guard, saves", guard && firmware.memory.is_some());
        self.flag("guard, no knob", guard && firmware.dim_knob().is_none());
        self.flag(
            "guard, dimmer, fade",
            guard && firmware.dimmer.is_some() && fade,
        );
    }
}

/// Whether a contact is a button that goes from scene to scene, by its place.
pub(super) fn goes(design: &Design, contact: u8) -> bool {
    let contact = &design.project.contacts[usize::from(contact)];
    matches!(contact.taps(), Some(Tap::Next | Tap::Previous))
}
