//! What changes in the model of the light at the end of a tick.

use crate::conduct::Saved;
use crate::conduct::fade::{FadeStep, Master};
use crate::input::knob::Gain;

/// What a turn brought.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Turn {
    /// The scene that was started, pinned or not.
    pub started: Option<usize>,
    /// The byte whose write into the EEPROM was started.
    pub saved: Option<Saved>,
    /// It went off, or was woken.
    pub switched: bool,
}

/// A change of scene, which dims the old one and brings up the new one.
#[derive(Debug, Clone, Copy)]
pub(super) struct Change {
    pub master: Master,
    /// What is due once the old scene is dark.
    pub due: Option<Due>,
}

/// What follows an old scene.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Due {
    Scene(usize),
    Off(Why),
}

/// Why a light goes off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Why {
    /// The button put it off.
    StandBy,
    /// Its evening is over.
    Night,
    /// Its cells are spent.
    Spent,
}

impl Change {
    /// Nothing has come up yet.
    pub(super) fn dark(step: FadeStep) -> Self {
        Self {
            master: Master::dark(step),
            due: None,
        }
    }

    /// One tick on, with as much light as is let through. `Some`: the old scene is dark, so this follows.
    pub(super) fn advance(&mut self, gain: Gain) -> Option<Due> {
        if self.due.is_none() {
            self.master.rise(gain);
            return None;
        }
        if self.master.sink() {
            self.due.take()
        } else {
            None
        }
    }
}
