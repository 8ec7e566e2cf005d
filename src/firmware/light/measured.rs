//! What is measured around the light, and what knob, buttons and low cells let through of it.

use super::{Light, Works};
use crate::conduct::{Action, Cause};
use crate::input::Event;
use crate::input::Sensed;
use crate::input::knob::Gain;
use crate::spec::Sets;
use crate::target::Measured;
use crate::units::Level;

impl Light<'_> {
    /// What is measured at this tick: a knob, the supply, or the light around, in turn.
    pub(super) fn measure(&mut self, sensed: Sensed) {
        let Works { firmware, .. } = self.works;
        match firmware.measures.get(self.turn) {
            Some(Measured::Room) => self.seen = sensed.room,
            Some(Measured::Cells) => self.look_at_cells(sensed.cells),
            Some(Measured::Knob) => self.follow_knob(sensed.knob),
            None => {}
        }
        self.turn = (self.turn + 1) % firmware.measures.len().max(1);
    }

    /// Cells that are low dim the light, a step a look.
    fn look_at_cells(&mut self, measured: u8) {
        let Works { firmware, .. } = self.works;
        let (Some(rules), Some(cells)) = (firmware.cells, &mut self.cells) else {
            return;
        };
        cells.look(measured, rules);
        if firmware.dim_knob().is_none() && cells.are_low(rules) && self.gain > rules.dimmed {
            self.gain.0 -= 1;
        }
    }

    /// Where cells are low, a knob is as if it were no further up.
    fn follow_knob(&mut self, measured: u8) {
        let Works { firmware, .. } = self.works;
        let rules = firmware.cells.zip(self.cells);
        let low = rules.filter(|(rules, cells)| cells.are_low(*rules));
        let most = low.map_or(Gain::FULL, |(rules, _)| rules.dimmed);
        let Some(knob) = firmware.knob else {
            return;
        };
        match knob.sets {
            Sets::Brightness => self.gain.follow(measured.min(most.0), knob),
            Sets::Speed => self.speed.pace.follow(measured, knob),
        }
    }

    /// What is known of the light around.
    pub(super) fn seen(&self, sensed: Sensed) -> u8 {
        match self.works.firmware.measures_in_turn() {
            true => self.seen,
            false => sensed.room,
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

    /// How much of the light is let through, by knob, buttons and cells that are low.
    pub fn gain(&self) -> Gain {
        self.gain.min(self.dimmed.gain())
    }

    /// How far the light has followed its knob; all the way, where there is none.
    pub fn followed(&self) -> Gain {
        let knob = self.works.firmware.knob;
        knob.map_or(Gain::FULL, |knob| match knob.sets {
            Sets::Brightness => self.gain,
            Sets::Speed => self.speed.pace,
        })
    }

    /// A level after that and a change of scene.
    pub(super) fn dim(&self, level: Level) -> Level {
        match self.change {
            Some(change) => change.master.dim(level),
            None => self.gain().dim(level),
        }
    }
}
