//! The model of the whole light: shows, button, memory and changes of scene around the player, with
//! the same integer rules, in the same order, as the main loop of the firmware.

mod begin;
mod dark;
mod measured;
mod once;

pub use begin::Begin;

use super::Firmware;
use super::change::{Change, Due, Turn, Why};
use super::off::Off;
use crate::conduct::{Action, Cause, Kept, Onward, Records, roaming};
use crate::input::Sensed;
use crate::input::button::Press;
use crate::input::cells::Cells;
use crate::input::contact::Watch;
use crate::input::dimmer::{self, Dimmed};
use crate::input::knob::{Gain, Speed};
use crate::input::room::Room;
use crate::input::switch::Turning;
use crate::player::{Deck, Generator, Player};
use crate::spec::CONTACTS;
use crate::units::{Duty, Level};

/// What makes a light: what it plays, and the firmware around that.
#[derive(Debug, Clone, Copy)]
pub struct Works<'a> {
    pub deck: &'a Deck,
    pub firmware: &'a Firmware,
}

/// A light from power-up on. Each tick is a [`play`](Self::play), then a [`turn`](Self::turn).
#[derive(Debug, Clone)]
pub struct Light<'a> {
    works: Works<'a>,
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
    press: Press,
    /// By contact.
    contacts: Vec<Watch>,
    /// Ticks for which a scene plays once, from its start; 0: none does.
    playing: u16,
    turning: Turning,
    gain: Gain,
    speed: Speed,
    /// Patterns have gone on at this tick.
    goes_on: bool,
    stepping: dimmer::Watch,
    dimmed: Dimmed,
    room: Room,
    cells: Option<Cells>,
    /// What was measured last of the light around, where something else is measured in turn with it.
    seen: u8,
    /// Which of what is measured is so at this tick.
    turn: usize,
    /// Ticks since the last beat.
    beat: u32,
    /// Beats until the next scene.
    dwell: u8,
    /// `None`: scenes change at once.
    change: Option<Change>,
    /// Ticks that are left of the evening.
    left: u32,
    /// `None`: it is not dark.
    off: Option<Off>,
}

impl<'a> Light<'a> {
    fn start(works: Works<'a>, eeprom: &[u8], begin: Begin, pinned: Option<usize>) -> Self {
        let chance = begin.chance;
        let Works { deck, firmware } = works;
        let memory = firmware.memory.as_ref();
        let mut light = Self {
            works,
            player: Player::new(deck, chance),
            scene: 0,
            pinned,
            plays: false,
            records: memory.map(|memory| Records::new(memory, eeprom)),
            places: vec![0; deck.image.score.shows.len()],
            show: 0,
            press: Press::default(),
            contacts: vec![Watch::default(); CONTACTS],
            playing: 0,
            turning: Turning::default(),
            speed: Speed::FULL,
            goes_on: true,
            gain: firmware.dim_knob().map_or(Gain::FULL, |_| Gain::default()),
            cells: firmware.cells.map(Cells::fresh),
            stepping: dimmer::Watch::default(),
            dimmed: Dimmed::default(),
            room: Room::default(),
            seen: u8::MAX,
            turn: 0,
            beat: 0,
            dwell: 0,
            change: firmware.fade.map(Change::dark),
            left: firmware.lasts().map_or(0, |on| on.0),
            off: None,
        };
        light.recall(chance);
        if firmware.switch.is_some() {
            light.show = u8::from(begin.switch);
        }
        if firmware.rules.hops() {
            light.hop(0);
        }
        // The first scene comes up from the dark at once.
        let due = light.change.as_mut().and_then(|change| change.due.take());
        match (firmware.rules.begins_with(), due) {
            (Some(once), _) => {
                light.playing = once.ticks;
                light.start_scene(once.scene.into());
            }
            (None, Some(Due::Scene(scene))) => {
                light.start_scene(scene);
            }
            (None, _) if !firmware.rules.hops() => {
                light.start_scene(0);
            }
            (None, _) => {}
        }
        light
    }

    /// What these contents of the EEPROM bring back of the [`state`](Self::state): as many of its
    /// last bytes as are remembered. `None`: they hold none.
    pub fn recalled(firmware: &Firmware, eeprom: &[u8]) -> Option<Vec<u8>> {
        Records::new(firmware.memory.as_ref()?, eeprom).recall()
    }

    fn recall(&mut self, chance: Generator) {
        let Some(records) = &mut self.records else {
            return;
        };
        let recalled = records.recall();
        self.player.generator = chance;
        if let Some(recalled) = recalled {
            let mut state = self.state();
            let from = state.len() - recalled.len();
            state[from..].copy_from_slice(&recalled);
            self.restore(&state);
        }
        if self.works.firmware.features.draws {
            self.draw(0);
            self.save(|records| records.save_at_once());
        }
    }

    /// Takes a state from [`state`](Self::state).
    fn restore(&mut self, state: &[u8]) {
        let mut at = 0;
        for field in &self.works.firmware.state.fields {
            let end = at + field.size().0 as usize;
            match (field, &state[at..end]) {
                (Kept::Places(_), places) => self.places.copy_from_slice(places),
                (Kept::Show, show) => self.show = show[0],
                (Kept::Dimmed, dimmed) => self.dimmed = Dimmed(dimmed[0]),
                (Kept::Generator, state) => {
                    let state = u16::from_le_bytes([state[0], state[1]]);
                    self.player.generator = Generator::new(state);
                }
            }
            at = end;
        }
    }

    /// What the firmware keeps in memory as its `remembered`, byte for byte.
    pub fn state(&self) -> Vec<u8> {
        let fields = &self.works.firmware.state.fields;
        let bytes = |field: &Kept| match field {
            Kept::Places(_) => self.places.clone(),
            Kept::Show => vec![self.show],
            Kept::Dimmed => vec![self.dimmed.0],
            Kept::Generator => self.player.generator.state().to_le_bytes().to_vec(),
        };
        fields.iter().flat_map(bytes).collect()
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
        if self.is_off() {
            return vec![Duty(0); self.player.levels().count()];
        }
        self.goes_on = self.speed.goes_on();
        if self.goes_on {
            self.player.step();
        }
        let duty =
            |(channel, level): (usize, Level)| self.works.deck.duty(channel, self.dim(level));
        self.player.levels().enumerate().map(duty).collect()
    }

    /// What follows a tick: the change of scene, the button, and what a beat brings.
    pub fn turn(&mut self, sensed: impl Into<Sensed>) -> Turn {
        let sensed = sensed.into();
        if self.is_off() {
            return self.rest(sensed);
        }
        let mut turn = Turn::default();
        let gain = self.gain();
        let change = self.change.as_mut();
        match change.and_then(|change| change.advance(gain)) {
            Some(Due::Scene(scene)) => turn.started = Some(self.start_scene(scene)),
            Some(Due::Off(why)) => return self.go_off(why),
            None => {}
        }
        let firmware = self.works.firmware;
        let pressed = (firmware.button).and_then(|button| self.press.watch(sensed.button, button));
        let pressed = pressed.map(Cause::Input);
        match pressed.and_then(|cause| firmware.rules.action(cause)) {
            None => {}
            Some(Action::StandBy) => {
                if let Some(gone) = self.leave(Why::StandBy) {
                    return gone;
                }
            }
            Some(Action::Rest) => return self.go_off(Why::Night),
            Some(Action::RestForGood) => return self.go_off(Why::Spent),
            Some(Action::Go(to)) => {
                self.save_choice();
                turn.started = self.go(to).or(turn.started);
            }
            Some(up @ (Action::Brighter | Action::Darker)) => self.dim_by_a_step(up),
            Some(Action::Play(once)) => turn.started = self.play_once(once).or(turn.started),
            Some(Action::Back) => turn.started = self.back().or(turn.started),
        }
        turn.started = self.play_out().or(turn.started);
        turn.started = self.watch_contacts(sensed).or(turn.started);
        turn.started = self.watch_switch(sensed).or(turn.started);
        self.watch_dimmer(sensed);
        self.measure(sensed);
        let over = self.pass_tick(sensed).then_some(Why::Night);
        let spent = self.is_spent().then_some(Why::Spent);
        for why in over.into_iter().chain(spent) {
            if let Some(gone) = self.leave(why) {
                return gone;
            }
        }
        if firmware.has_beats() {
            self.beat = (self.beat + 1) % firmware.beats.ticks;
            let memory = firmware.memory.as_ref();
            if memory.is_some_and(|memory| self.beat.is_multiple_of(memory.saving.every)) {
                let state = self.state();
                let step = |records: &mut Records| records.step(&state);
                turn.saved = self.records.as_mut().and_then(step);
            }
            if self.beat == 0 {
                turn.started = self.roam().or(turn.started);
            }
        }
        turn
    }

    /// Goes on to a scene; the one that starts right now, if any.
    fn go(&mut self, to: Onward) -> Option<usize> {
        match to {
            Onward::NextScene => self.hop(1),
            Onward::PreviousScene => {
                let shows = &self.works.deck.image.score.shows;
                self.hop(shows[usize::from(self.show)].count - 1)
            }
            Onward::NextShow => {
                self.show = self.show.wrapping_add(1);
                self.hop(0)
            }
            Onward::Show(show) => {
                self.show = show;
                self.hop(0)
            }
            Onward::AnotherScene => {
                let shows = &self.works.deck.image.score.shows;
                let count = shows[usize::from(self.show)].count;
                let by = 1 + self.draw(count.saturating_sub(2));
                self.hop(by)
            }
        }
    }

    /// Another scene, each as likely, once the dwell is over.
    fn roam(&mut self) -> Option<usize> {
        let roaming = roaming(&self.works.deck.image)?;
        if usize::from(self.show) != roaming || self.goes_off() || self.playing > 0 {
            return None;
        }
        self.dwell = self.dwell.wrapping_sub(1);
        if self.dwell > 0 {
            return None;
        }
        match self.works.firmware.rules.action(Cause::DwellOver)? {
            Action::Go(to) => self.go(to),
            _ => None,
        }
    }

    /// Goes on by some scenes within the show; the scene that starts right now, if any.
    fn hop(&mut self, by: u8) -> Option<usize> {
        let shows = &self.works.deck.image.score.shows;
        if usize::from(self.show) >= shows.len() {
            self.show = 0;
        }
        let show = &shows[usize::from(self.show)];
        let place = &mut self.places[usize::from(self.show)];
        *place = place.wrapping_add(by) % show.count;
        let scene = usize::from(show.first + *place);
        self.playing = 0;
        let started = self.change_to(scene);
        let firmware = self.works.firmware;
        if let Some(dwell) = firmware.beats.dwell.filter(|_| firmware.rules.roams()) {
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

    /// A change of show, place or brightness is to be remembered.
    fn save_choice(&mut self) {
        if self.works.firmware.remembers_choices() {
            self.save(|records| records.save_when_quiet());
        }
    }

    fn save(&mut self, begin: impl FnOnce(&mut Records<'a>)) {
        if let Some(records) = &mut self.records {
            begin(records);
        }
    }
}
