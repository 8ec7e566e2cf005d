//! A change of scene in the model of the light.

use crate::conduct::fade::{FadeStep, Master};

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
    StandBy,
}

impl Change {
    /// Nothing has come up yet.
    pub(super) fn dark(step: FadeStep) -> Self {
        Self {
            master: Master::dark(step),
            due: None,
        }
    }

    /// One tick on. `Some`: the old scene is dark, so this follows.
    pub(super) fn advance(&mut self) -> Option<Due> {
        if self.due.is_none() {
            self.master.rise();
            return None;
        }
        if self.master.sink() {
            self.due.take()
        } else {
            None
        }
    }
}
