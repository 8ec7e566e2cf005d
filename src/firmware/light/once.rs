//! Contacts and a switch, and what is played once, in the model of the light.

use super::super::change::Due;
use super::Light;
use crate::conduct::{Action, Cause, Once};
use crate::input::{Event, Sensed};

impl Light<'_> {
    /// Whether a scene is played once, and will give way to that of the show.
    pub fn plays_once(&self) -> bool {
        self.playing > 0
    }

    /// The end of what is played once; the scene that starts right now, if any.
    pub(super) fn play_out(&mut self) -> Option<usize> {
        let leaves = self.change.is_some_and(|change| change.due.is_some());
        if self.playing == 0 || leaves || !self.goes_on {
            return None;
        }
        self.playing -= 1;
        if self.playing > 0 {
            return None;
        }
        match self.works.firmware.rules.action(Cause::OnceOver)? {
            Action::Back => self.back(),
            _ => None,
        }
    }

    /// The scene of the show again.
    pub(super) fn back(&mut self) -> Option<usize> {
        match self.works.firmware.rules.hops() {
            true => self.hop(0),
            false => self.change_to(0),
        }
    }

    /// What contacts ask for; the scene that starts right now, if any.
    pub(super) fn watch_contacts(&mut self, sensed: Sensed) -> Option<usize> {
        let firmware = self.works.firmware;
        let mut started = None;
        for ticks in &firmware.contacts {
            let closed = sensed.is_closed(ticks.index);
            let watch = &mut self.contacts[usize::from(ticks.index)];
            if !watch.closes(closed, *ticks) {
                continue;
            }
            let cause = Cause::Input(Event::Closed(ticks.index));
            let starts = match firmware.rules.action(cause) {
                Some(Action::Play(once)) => self.play_once(once),
                Some(Action::Go(to)) => {
                    self.save_choice();
                    self.go(to)
                }
                _ => None,
            };
            started = starts.or(started);
        }
        started
    }

    /// The show that the switch asks for; the scene that starts right now, if any.
    pub(super) fn watch_switch(&mut self, sensed: Sensed) -> Option<usize> {
        let firmware = self.works.firmware;
        let ticks = firmware.switch?;
        let was = self.show != 0;
        if !self.turning.turns(sensed.switch, was, ticks) {
            return None;
        }
        match firmware.rules.action(Cause::Input(Event::Turned(!was)))? {
            Action::Go(to) => self.go(to),
            _ => None,
        }
    }

    /// Plays a scene for a while, unless it is about to go off.
    pub(super) fn play_once(&mut self, once: Once) -> Option<usize> {
        if self.goes_off() {
            return None;
        }
        self.playing = once.ticks;
        self.change_to(once.scene.into())
    }

    /// Goes on to a scene, at once or once the one before is dark; the one that starts right now, if any.
    pub(super) fn change_to(&mut self, scene: usize) -> Option<usize> {
        match &mut self.change {
            Some(change) => {
                change.due = Some(Due::Scene(scene));
                None
            }
            None => Some(self.start_scene(scene)),
        }
    }
}
