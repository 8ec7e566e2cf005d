//! How the model of the light begins.

use super::super::off::{Off, Until};
use super::{Light, Works};
use crate::player::Generator;

/// What a light begins with, besides what it remembers.
#[derive(Debug, Clone, Copy)]
pub struct Begin {
    /// What its draws begin with, if nothing is remembered.
    pub chance: Generator,
    /// The switch that chooses between shows is closed.
    pub switch: bool,
}

impl From<Generator> for Begin {
    fn from(chance: Generator) -> Self {
        Self {
            chance,
            switch: false,
        }
    }
}

impl<'a> Light<'a> {
    /// A light that is switched on, with these contents of its EEPROM. If they hold no state, its
    /// draws begin with `chance`, as [`Generator::chance_in`] tells it from what memory came up with.
    pub fn power_up(works: Works<'a>, eeprom: &[u8], begin: impl Into<Begin>) -> Self {
        Self::start(works, eeprom, begin.into(), None).dark_or_lit()
    }

    /// The same after a reset by the watchdog, or out of standby.
    pub fn restarted(works: Works<'a>, eeprom: &[u8], begin: impl Into<Begin>) -> Self {
        Self::start(works, eeprom, begin.into(), None)
    }

    /// As it is when power comes.
    fn dark_or_lit(self) -> Self {
        let starts_dark = self.works.firmware.starts_dark;
        Self {
            off: starts_dark.then(|| Off::new(Until::Pressed)),
            ..self
        }
    }

    /// As [`restarted`](Self::restarted), but the first scene is this one, and no other follows.
    ///
    /// # Panics
    /// If there is no such scene.
    pub fn pinned(works: Works<'a>, eeprom: &[u8], begin: impl Into<Begin>, scene: usize) -> Self {
        Self::start(works, eeprom, begin.into(), Some(scene))
    }
}
