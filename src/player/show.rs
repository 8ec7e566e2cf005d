//! The model of the whole light: shows, button, memory and changes of scene around the player, with
//! the same integer rules, in the same order, as the main loop of the firmware.

use crate::design::Design;
use crate::firmware::roaming;
use crate::player::master::Master;
use crate::player::record::Records;
use crate::player::{Generator, Player, Saved};
use crate::units::{Duty, Level};

/// A light from power-up on. Each tick is a [`play`](Self::play), then a [`turn`](Self::turn).
#[derive(Debug, Clone)]
pub struct Light<'a> {
    design: &'a Design,
    player: Player<'a>,
    /// The scene that plays.
    scene: usize,
    /// The scene to play, whatever shows and button say.
    pinned: Option<usize>,
    /// A scene has been started.
    plays: bool,
    /// `None`: nothing is remembered.
    records: Option<Records<'a>>,
    /// Which of each show's scenes plays.
    places: Vec<u8>,
    show: u8,
    /// Ticks for which the button is down, and one more; 0: it has had its effect.
    pressed: u16,
    /// Ticks since the last beat.
    beat: u32,
    /// Beats until the next scene.
    dwell: u8,
    /// `None`: scenes change at once.
    change: Option<Change>,
}

/// A change of scene, which dims the old one and brings up the new one.
#[derive(Debug, Clone, Copy)]
struct Change {
    master: Master,
    /// The scene that is due once the old one is dark.
    due: Option<usize>,
}

/// What a turn brought.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Turn {
    /// The scene that was started, pinned or not.
    pub started: Option<usize>,
    /// The byte whose write into the EEPROM was started.
    pub saved: Option<Saved>,
}

impl<'a> Light<'a> {
    /// A light that is switched on, with these contents of its EEPROM.
    pub fn power_up(design: &'a Design, eeprom: &[u8]) -> Self {
        Self::start(design, eeprom, None)
    }

    /// As [`power_up`](Self::power_up), but the first scene is this one, and no other follows.
    ///
    /// # Panics
    /// If there is no such scene.
    pub fn pinned(design: &'a Design, eeprom: &[u8], scene: usize) -> Self {
        Self::start(design, eeprom, Some(scene))
    }

    fn start(design: &'a Design, eeprom: &[u8], pinned: Option<usize>) -> Self {
        let firmware = &design.firmware;
        let mut light = Self {
            design,
            player: Player::new(&design.deck, Generator::new(Generator::FIRST)),
            scene: 0,
            pinned,
            plays: false,
            records: firmware
                .memory
                .as_ref()
                .map(|memory| Records::new(memory, firmware.beats.quiet, eeprom)),
            places: vec![0; design.deck.image.score.shows.len()],
            show: 0,
            pressed: 0,
            beat: 0,
            dwell: 0,
            change: firmware.fade.map(|step| Change {
                master: Master::dark(step),
                due: None,
            }),
        };
        light.recall();
        if firmware.features.hops {
            light.hop(0);
            // The first scene comes up from the dark at once.
            let due = light.change.as_mut().and_then(|change| change.due.take());
            due.map(|scene| light.start_scene(scene));
        } else {
            light.start_scene(0);
        }
        light
    }

    /// The state that these contents of the EEPROM bring back, as [`state`](Self::state) has it.
    /// `None`: they hold none.
    pub fn recalled(design: &Design, eeprom: &[u8]) -> Option<Vec<u8>> {
        let memory = design.firmware.memory.as_ref()?;
        Records::new(memory, 0, eeprom).recall()
    }

    fn recall(&mut self) {
        let Some(records) = &mut self.records else {
            return;
        };
        match records.recall() {
            Some(state) => {
                self.restore(&state);
                if self
                    .design
                    .firmware
                    .memory
                    .as_ref()
                    .is_some_and(|memory| memory.forgets)
                {
                    self.show = 0;
                    self.places.fill(0);
                }
            }
            None => self.player.generator = Generator::new(Generator::FIRST),
        }
        if self.design.firmware.features.draws {
            self.draw(0);
            self.save(|records| records.save_at_once());
        }
    }

    /// Takes a state from [`state`](Self::state).
    fn restore(&mut self, state: &[u8]) {
        let mut bytes = state.iter().copied();
        if self.design.firmware.features.hops {
            self.places
                .iter_mut()
                .for_each(|place| *place = bytes.next().unwrap_or(0));
        }
        if self.places.len() > 1 {
            self.show = bytes.next().unwrap_or(0);
        }
        if let (Some(low), Some(high)) = (bytes.next(), bytes.next()) {
            self.player.generator = Generator::new(u16::from_le_bytes([low, high]));
        }
    }

    /// What the firmware keeps in memory as its `remembered`, byte for byte: in order the places,
    /// the show, the generator, as far as the project has them.
    pub fn state(&self) -> Vec<u8> {
        let features = &self.design.firmware.features;
        let mut state = Vec::new();
        if features.hops {
            state.extend(&self.places);
        }
        if self.places.len() > 1 {
            state.push(self.show);
        }
        if features.draws {
            state.extend(self.player.generator.state().to_le_bytes());
        }
        state
    }

    /// What the EEPROM holds once all that was begun is written; empty if nothing is remembered.
    pub fn eeprom(&self) -> &[u8] {
        self.records.as_ref().map_or(&[], Records::cells)
    }

    /// All channels, as they are before a change of scene dims them.
    pub fn player(&self) -> &Player<'a> {
        &self.player
    }

    /// The show that is on, by its index.
    pub fn show(&self) -> usize {
        usize::from(self.show) % self.places.len().max(1)
    }

    /// The scene that plays.
    pub fn scene(&self) -> usize {
        self.scene
    }

    /// Moves all channels on by one tick; returns what each puts out.
    pub fn play(&mut self) -> Vec<Duty> {
        self.player.step();
        let duty = |(channel, level): (usize, Level)| {
            let level = self.change.map_or(level, |change| change.master.dim(level));
            self.design.deck.duty(channel, level)
        };
        self.player.levels().enumerate().map(duty).collect()
    }

    /// What follows a tick: the change of scene, the button, and what a beat brings.
    pub fn turn(&mut self, button_down: bool) -> Turn {
        let mut turn = Turn::default();
        if let Some(scene) = self.change.as_mut().and_then(Change::advance) {
            turn.started = Some(self.start_scene(scene));
        }
        if let Some(by) = self.watch_button(button_down) {
            self.save(|records| records.save_when_quiet());
            turn.started = self.hop(by).or(turn.started);
        }
        if self.design.firmware.has_beats() {
            self.beat += 1;
            if self.beat == self.design.firmware.beats.ticks {
                self.beat = 0;
                let state = self.state();
                turn.saved = self
                    .records
                    .as_mut()
                    .and_then(|records| records.beat(&state));
                turn.started = self.roam().or(turn.started);
            }
        }
        turn
    }

    /// Counts how long the button is down. `Some`: go on by so many scenes.
    fn watch_button(&mut self, down: bool) -> Option<u8> {
        let button = self.design.firmware.button?;
        let features = &self.design.firmware.features;
        let held = self.pressed;
        if !down {
            self.pressed = 1;
            return (features.taps && held > button.debounce).then_some(1);
        }
        if held == 0 {
            return None;
        }
        self.pressed = held + 1;
        if self.pressed < button.hold {
            return None;
        }
        self.pressed = 0;
        features.holds.then(|| {
            self.show = self.show.wrapping_add(1);
            0
        })
    }

    /// Another scene, each as likely, once the dwell is over.
    fn roam(&mut self) -> Option<usize> {
        let roaming = roaming(&self.design.deck.image)?;
        if usize::from(self.show) != roaming {
            return None;
        }
        self.dwell = self.dwell.wrapping_sub(1);
        if self.dwell > 0 {
            return None;
        }
        let count = self.design.deck.image.score.shows[roaming].count;
        let by = 1 + self.draw(count.saturating_sub(2));
        self.hop(by)
    }

    /// Goes on by some scenes within the show; the scene that starts right now, if any.
    fn hop(&mut self, by: u8) -> Option<usize> {
        let shows = &self.design.deck.image.score.shows;
        if usize::from(self.show) >= shows.len() {
            self.show = 0;
        }
        let show = &shows[usize::from(self.show)];
        let place = &mut self.places[usize::from(self.show)];
        *place = place.wrapping_add(by) % show.count;
        let scene = usize::from(show.first + *place);
        let started = match &mut self.change {
            Some(change) => {
                change.due = Some(scene);
                None
            }
            None => Some(self.start_scene(scene)),
        };
        let firmware = &self.design.firmware;
        if let Some(dwell) = firmware.beats.dwell.filter(|_| firmware.features.roams) {
            self.dwell = dwell.low.wrapping_add(self.draw(dwell.span));
        } else if firmware.features.streams {
            self.draw(0);
        }
        started
    }

    /// Starts a scene, or stays with the pinned one.
    fn start_scene(&mut self, scene: usize) -> usize {
        if self.pinned.is_none() || !self.plays {
            self.scene = self.pinned.unwrap_or(scene);
            self.player.start(self.scene);
            self.plays = true;
        }
        scene
    }

    fn draw(&mut self, span: u8) -> u8 {
        self.player.generator.draw(span.into()) as u8
    }

    fn save(&mut self, begin: impl FnOnce(&mut Records<'a>)) {
        if let Some(records) = &mut self.records {
            begin(records);
        }
    }
}

impl Change {
    /// One tick on. `Some`: the old scene is dark, so this one starts.
    fn advance(&mut self) -> Option<usize> {
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
