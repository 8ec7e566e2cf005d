//! The parts of a firmware around its player, each with text of its own.

use serde::Serialize;

use super::Firmware;

/// A part that some firmwares have. Its text is a folder of that name below `templates/c/parts`, with a
/// file for each place in `main.c` where it has something to say: `declare`, `define`, `begin` (before the
/// first tick), `lit` (after a tick's light is worked out), `tick` (at its end).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// The choices of shows and button, over a power cut.
    Memory,
    /// The old scene dims before the new one comes up.
    Fade,
    /// Scenes that follow each other.
    Shows,
    Button,
    /// Scenes that are played once.
    Once,
    /// Contacts that ask for those, and further buttons that go from scene to scene.
    Contacts,
    /// One that chooses between shows.
    Switch,
    /// What is measured of a knob and of the supply.
    Measure,
    /// Buttons that set the brightness.
    Dimmer,
    /// On for some hours of each day, or while it is dark around.
    Evening,
    /// Spares cells that are spent.
    Guard,
}

impl Firmware {
    /// Its parts, each after those that it uses.
    pub fn parts(&self) -> Vec<Part> {
        let all = [
            (Part::Memory, self.memory.is_some()),
            (Part::Fade, self.fade.is_some()),
            (Part::Shows, self.rules.hops()),
            (Part::Button, self.button.is_some()),
            (Part::Once, self.rules.plays_once()),
            (Part::Contacts, !self.contacts.is_empty()),
            (Part::Switch, self.switch.is_some()),
            (Part::Measure, self.measures()),
            (Part::Dimmer, self.dimmer.is_some()),
            (Part::Evening, self.has_nights()),
            (Part::Guard, self.cells.is_some()),
        ];
        let there = all.into_iter().filter(|(_, there)| *there);
        there.map(|(part, _)| part).collect()
    }
}
