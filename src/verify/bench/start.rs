//! How a chip is switched on, and what is pressed or closed later.

use super::Before;
use crate::spec::CONTACTS;
use crate::verify::machine::Moment;

/// How a chip is switched on.
#[derive(Debug, Clone)]
pub struct Start {
    pub eeprom: Vec<u8>,
    /// Seed of what is in its memory.
    pub noise: u64,
    /// The scene to start, and stay with, whatever shows and button say.
    pub scene: Option<usize>,
    pub button_down: bool,
    /// The contacts that are closed, a bit for each.
    pub contacts: u8,
    /// The switch is closed.
    pub switch: bool,
    /// How far up the knob is, as a share of its way.
    pub knob: f64,
    pub before: Before,
}

/// With the knob all the way up, and everything else as it rests.
impl Default for Start {
    fn default() -> Self {
        Self {
            eeprom: Vec::new(),
            noise: 0,
            scene: None,
            button_down: false,
            contacts: 0,
            switch: false,
            knob: 1.0,
            before: Before::default(),
        }
    }
}

impl Start {
    /// Button, switch and all contacts, each with whether it is closed.
    pub(super) fn closed(&self) -> impl Iterator<Item = (Finger, bool)> {
        let contacts = 0..CONTACTS as u8;
        let mask = self.contacts;
        let contacts = contacts.map(move |at| (Finger::Contact(at), mask & 1 << at != 0));
        let others = [
            (Finger::Button, self.button_down),
            (Finger::Switch, self.switch),
        ];
        others.into_iter().chain(contacts)
    }
}

/// A contact that opens or closes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Press {
    pub(super) at: Moment,
    pub(super) what: Finger,
    pub(super) down: bool,
}

/// What is pressed or closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finger {
    Button,
    /// By its place among the contacts.
    Contact(u8),
    Switch,
}
