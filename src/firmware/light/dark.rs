//! Standby and night, in the model of the light.

use super::super::change::{Due, Turn};
use super::super::off::Off;
use super::{Begin, Light, Works};
use crate::conduct::{Action, Cause, Records};
use crate::input::Sensed;

impl Light<'_> {
    /// Whether it is dark, in standby or at night.
    pub fn is_off(&self) -> bool {
        self.off.is_some()
    }

    /// Whether its evening is over, and it is dark until the next one.
    pub fn is_night(&self) -> bool {
        self.off.is_some_and(|off| off.night.is_some())
    }

    /// Ticks that are left of the evening, or of the night. `None`: neither ends by itself.
    pub fn left(&self) -> Option<u32> {
        match self.off {
            Some(off) => off.night,
            None => self.works.firmware.evening.map(|_| self.left),
        }
    }

    /// As if its evening or its night had begun earlier: no more than so many ticks are left of it.
    pub fn pass(&mut self, left: u32) {
        match &mut self.off {
            Some(off) => off.night = off.night.map(|ticks| left.min(ticks)),
            None => self.left = left.min(self.left),
        }
    }

    /// What follows a tick in the dark: the next evening, or a press, once the button was let go.
    pub(super) fn rest(&mut self, sensed: Sensed) -> Turn {
        let Works { firmware, .. } = self.works;
        let debounce = firmware.button.map(|button| button.debounce);
        let debounce = debounce.filter(|_| firmware.wakes);
        if !self
            .off
            .as_mut()
            .is_some_and(|off| off.is_over(sensed.button, debounce))
        {
            return Turn::default();
        }
        let eeprom = self.eeprom().to_vec();
        let begin = Begin {
            chance: self.player.generator,
            switch: sensed.switch,
        };
        *self = Self::start(self.works, &eeprom, begin, self.pinned);
        Turn {
            started: Some(self.scene),
            switched: true,
            ..Turn::default()
        }
    }

    /// A tick of the evening; whether it is over, and all is saved.
    pub(super) fn pass_tick(&mut self) -> bool {
        if self.works.firmware.rules.action(Cause::EveningOver) != Some(Action::Rest) {
            return false;
        }
        let over = self.left == 0;
        self.left = self.left.saturating_sub(1);
        over && !self.records.as_ref().is_some_and(Records::is_due)
    }

    /// Ticks of a night.
    pub(super) fn night(&self) -> Option<u32> {
        self.works.firmware.evening.map(|evening| evening.night.0)
    }

    /// Dark, for so many ticks, or until the button is pressed.
    pub(super) fn go_off(&mut self, night: Option<u32>) -> Turn {
        self.off = Some(Off::new(night));
        Turn {
            switched: true,
            ..Turn::default()
        }
    }

    /// Whether the light is being dimmed to go off.
    pub(super) fn goes_off(&self) -> bool {
        let due = self.change.and_then(|change| change.due);
        matches!(due, Some(Due::StandBy | Due::Night))
    }
}
