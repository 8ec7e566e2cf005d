//! What is measured around the light, and what a knob lets through of it.

use super::{Light, Works};
use crate::input::Sensed;
use crate::input::knob::Gain;
use crate::units::Level;

impl Light<'_> {
    /// What is measured at this tick: a knob, or the light around, or in turn both.
    pub(super) fn measure(&mut self, sensed: Sensed) {
        let Works { firmware, .. } = self.works;
        let room = firmware.dusk.is_some() && self.measures_room;
        match firmware.knob {
            _ if room => self.seen = sensed.room,
            Some(knob) => self.gain.follow(sensed.knob, knob),
            None => {}
        }
        self.measures_room = !self.measures_room;
    }

    /// What is known of the light around.
    pub(super) fn seen(&self, sensed: Sensed) -> u8 {
        match self.works.firmware.knob {
            Some(_) => self.seen,
            None => sensed.room,
        }
    }

    /// How much of the light a knob lets through; all, where there is none.
    pub fn gain(&self) -> Gain {
        match self.works.firmware.knob {
            Some(_) => self.gain,
            None => Gain::FULL,
        }
    }

    /// A level after the knob and a change of scene.
    pub(super) fn dim(&self, level: Level) -> Level {
        match self.change {
            Some(change) => change.master.dim(level),
            None => self.gain().dim(level),
        }
    }
}
