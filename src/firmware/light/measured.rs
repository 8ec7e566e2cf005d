//! What is measured around the light, and what a knob or buttons let through of it.

use super::{Light, Works};
use crate::conduct::{Action, Cause};
use crate::input::Event;
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

    /// What the buttons ask for that are brighter and darker.
    pub(super) fn watch_dimmer(&mut self, sensed: Sensed) {
        let Works { firmware, .. } = self.works;
        let Some(ticks) = firmware.dimmer else {
            return;
        };
        let [up, down] = [ticks.brighter, ticks.darker].map(|at| sensed.is_closed(at));
        if self.stepping.counts(up != down, ticks) {
            let at = if up { ticks.brighter } else { ticks.darker };
            let cause = Cause::Input(Event::Closed(at));
            if let Some(action) = firmware.rules.action(cause) {
                self.dim_by_a_step(action);
            }
        }
    }

    /// All light brighter or darker, as far as there is a step left.
    pub(super) fn dim_by_a_step(&mut self, action: Action) {
        let Some(ticks) = self.works.firmware.dimmer else {
            return;
        };
        let changes = match action {
            Action::Brighter => self.dimmed.brighter(ticks),
            Action::Darker => self.dimmed.darker(ticks),
            _ => false,
        };
        if changes {
            self.save_choice();
        }
    }

    /// How much of the light a knob or buttons let through; all, where there are none.
    pub fn gain(&self) -> Gain {
        match self.works.firmware.knob {
            Some(_) => self.gain,
            None => self.dimmed.gain(),
        }
    }

    /// A level after that and a change of scene.
    pub(super) fn dim(&self, level: Level) -> Level {
        match self.change {
            Some(change) => change.master.dim(level),
            None => self.gain().dim(level),
        }
    }
}
