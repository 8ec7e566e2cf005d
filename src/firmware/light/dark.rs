//! Standby and night, in the model of the light.

use super::super::change::{Due, Turn, Why};
use super::super::off::{Night, Off, Until};
use super::{Begin, Light, Works};
use crate::conduct::{Action, Cause, Records};
use crate::input::Sensed;
use crate::input::cells::Cells;
use crate::input::room::Room;

impl Light<'_> {
    /// Whether it is dark, in standby or at night.
    pub fn is_off(&self) -> bool {
        self.off.is_some()
    }

    /// Whether its evening is over, and it is dark until the next one.
    pub fn is_night(&self) -> bool {
        let off = self.off.map(|off| off.until);
        matches!(off, Some(Until::Night(_)))
    }

    /// Ticks that are left of the evening, or of the night. `None`: neither ends by itself.
    pub fn left(&self) -> Option<u32> {
        match self.off {
            Some(off) => match off.until {
                Until::Night(Night::Passes(ticks)) => Some(ticks),
                _ => None,
            },
            None => self.works.firmware.lasts().map(|_| self.left),
        }
    }

    /// As if its evening or its night had begun earlier: no more than so many ticks are left of it.
    pub fn pass(&mut self, left: u32) {
        match &mut self.off {
            Some(off) => {
                if let Until::Night(Night::Passes(ticks)) = &mut off.until {
                    *ticks = left.min(*ticks);
                }
            }
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
            .is_some_and(|off| off.is_over(sensed, debounce))
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
    pub(super) fn pass_tick(&mut self, sensed: Sensed) -> bool {
        if self.works.firmware.rules.action(Cause::EveningOver) != Some(Action::Rest) {
            return false;
        }
        let firmware = self.works.firmware;
        let over = firmware.lasts().is_some() && self.left == 0;
        self.left = self.left.saturating_sub(1);
        // Once its hours are over, nobody looks.
        let dusk = firmware.dusk.filter(|_| !over);
        let bright = dusk.is_some_and(|dusk| self.room.is_bright(self.seen(sensed), dusk.room));
        (over || bright) && !self.records.as_ref().is_some_and(Records::is_due)
    }

    /// When the next evening begins.
    fn night(&self) -> Option<Night> {
        let firmware = self.works.firmware;
        if let Some(dusk) = firmware.dusk {
            return Some(Night::Dusk {
                rules: dusk.room,
                room: Room::default(),
                was_bright: dusk.on.is_none() || self.left > 0,
            });
        }
        let night = firmware.evening?.night;
        Some(Night::Passes(night.0))
    }

    /// Whether cells are spent, and all is saved.
    pub(super) fn is_spent(&self) -> bool {
        let firmware = self.works.firmware;
        let rests = firmware.rules.action(Cause::CellsSpent) == Some(Action::RestForGood);
        let spent = rests && self.cells.is_some_and(Cells::are_spent);
        spent && !self.records.as_ref().is_some_and(Records::is_due)
    }

    /// Whether it is dark for good: its cells are spent.
    pub fn is_out(&self) -> bool {
        let off = self.off.map(|off| off.until);
        matches!(off, Some(Until::Changed))
    }

    /// It is to go off, once the scene is dimmed where that takes a while. `Some`: it is off.
    pub(super) fn leave(&mut self, why: Why) -> Option<Turn> {
        match &mut self.change {
            Some(change) => {
                change.due = Some(Due::Off(why));
                None
            }
            None => Some(self.go_off(why)),
        }
    }

    /// Dark, until something brings it back.
    pub(super) fn go_off(&mut self, why: Why) -> Turn {
        let until = match why {
            Why::StandBy => Until::Pressed,
            Why::Night => self.night().map_or(Until::Pressed, Until::Night),
            Why::Spent => Until::Changed,
        };
        self.off = Some(Off::new(until));
        Turn {
            switched: true,
            ..Turn::default()
        }
    }

    /// Whether the light is being dimmed to go off.
    pub(super) fn goes_off(&self) -> bool {
        let due = self.change.and_then(|change| change.due);
        matches!(due, Some(Due::Off(_)))
    }
}
