//! A light that is watched: the model, at the person's pace.

mod hand;

use std::collections::{BTreeSet, VecDeque};
use std::time::Duration;

use crate::board::flash::SAFE;
use crate::board::takes;
use crate::design::Design;
use crate::diagnostic::Span;
use crate::firmware::{Begin, Light};
use crate::light::cie;
use crate::page::{Frames, flashes};
use crate::player::Generator;
use crate::preview::{self, Lines};
use crate::score::Origin;
use crate::units::{Duty, Lightness};

use self::hand::{Hand, Press};
use super::keys::Wish;

/// Speeds to choose from; the middle one is real time.
const SPEEDS: [f64; 9] = [0.01, 0.02, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0];
const REAL: usize = 6;
/// A byte of a new chip's EEPROM.
const ERASED: u8 = 0xFF;
/// What a new chip's memory came up with, as it were: the same evening each time.
const CHANCE: Generator = Generator::new(Generator::FIRST);
/// What is remembered of the light: so many moments…
const MOMENTS: usize = 400;
/// …this far apart, in seconds.
const APART: f64 = 0.05;
/// Looking for the next step ends after this long, in seconds.
const PATIENCE: f64 = 600.0;
/// The terminal was away for longer than this: time goes on from here.
const LONGEST_GAP: f64 = 0.5;

/// Whether time goes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    Plays,
    Paused,
    /// The scene flashes so many times in a second; it waits until the person agrees.
    Asks(usize),
}

/// A light, and how it is watched.
#[derive(Clone)]
pub struct Session<'a> {
    design: &'a Design,
    light: Light<'a>,
    lines: Lines,
    pub state: State,
    speed: usize,
    /// Time that is due and shorter than a tick, in seconds.
    owed: f64,
    /// Ticks since power-up.
    pub ticks: u64,
    /// The scene chosen by the person, whatever the shows say.
    pub pinned: Option<usize>,
    hand: Hand,
    duties: Vec<Duty>,
    /// By channel, the newest last.
    history: Vec<VecDeque<Lightness>>,
    /// What happened last.
    pub news: String,
    /// The flashes of each pattern scene, once known.
    flashes: Vec<Option<[usize; 3]>>,
    /// Scenes and speeds that may flash.
    agreed: BTreeSet<(usize, usize)>,
}

impl<'a> Session<'a> {
    /// A light that has just been switched on for the first time.
    pub fn new(design: &'a Design) -> Self {
        let channels = design.project.channels.len();
        let mut session = Self {
            light: Light::power_up(
                design.works(),
                &vec![ERASED; design.plan.chip.eeprom.size.0 as usize],
                CHANCE,
            ),
            lines: Lines::new(&design.deck.image),
            state: State::Plays,
            speed: REAL,
            owed: 0.0,
            ticks: 0,
            pinned: None,
            hand: Hand::default(),
            duties: vec![Duty(0); channels],
            history: vec![VecDeque::new(); channels],
            news: "switched on".to_string(),
            flashes: vec![None; design.deck.image.score.scenes.len()],
            agreed: BTreeSet::new(),
            design,
        };
        session.begin();
        session
    }

    pub fn design(&self) -> &'a Design {
        self.design
    }

    /// Does what the person wishes. Leaving is not for the session.
    pub fn obey(&mut self, wish: Wish) {
        match wish {
            Wish::Pause => {
                self.state = match self.state {
                    State::Plays => State::Paused,
                    State::Paused => State::Plays,
                    asks @ State::Asks(_) => asks,
                };
            }
            Wish::Tick => {
                self.hold_still();
                self.tick();
            }
            Wish::Step => {
                self.hold_still();
                self.seek_next_step();
            }
            Wish::Faster => self.speed = (self.speed + 1).min(SPEEDS.len() - 1),
            Wish::Slower => self.speed = self.speed.saturating_sub(1),
            Wish::Next => self.pin_next(),
            Wish::Shows => self.power_up("switched off and on; the shows go on"),
            Wish::Tap => self.press(Press::Tap),
            Wish::Hold => self.press(Press::Hold),
            Wish::Off => self.press(Press::Long),
            Wish::Close(contact) => self.close(contact),
            Wish::Dim(brighter) => self.dim(brighter),
            Wish::Turn => self.turn(),
            Wish::Knob(up) => self.turn_knob(up),
            Wish::Curtains => self.draw_curtains(),
            Wish::Cells => self.run_down(),
            Wish::Agree => self.agree(),
            Wish::Leave => {}
        }
        self.mind_flashes();
    }

    /// Lets so much time go by on the wall; whether the light goes on with it.
    pub fn advance(&mut self, elapsed: Duration) -> bool {
        if self.state != State::Plays {
            return false;
        }
        let elapsed = elapsed.as_secs_f64().min(LONGEST_GAP);
        self.owed += elapsed * self.speed();
        let tick = self.design.grid.tick_seconds();
        while self.owed >= tick && self.state == State::Plays {
            self.owed -= tick;
            self.tick();
        }
        true
    }

    /// How fast time goes by: 1 is real time.
    pub fn speed(&self) -> f64 {
        SPEEDS[self.speed]
    }

    /// Seconds since power-up.
    pub fn time(&self) -> f64 {
        self.ticks as f64 * self.design.grid.tick_seconds()
    }

    /// What each channel puts out.
    pub fn duties(&self) -> &[Duty] {
        &self.duties
    }

    /// What a channel did lately, the newest last.
    pub fn history(&self, channel: usize) -> &VecDeque<Lightness> {
        &self.history[channel]
    }

    /// The scene's name.
    pub fn scene(&self) -> String {
        let scene = &self.design.deck.image.score.scenes[self.light.scene()];
        match scene.origin {
            Origin::Pattern(_) => scene.name.clone(),
            Origin::Steady(level) => {
                let lightness = self.design.scale.lightness(level);
                format!("steady at L* {:.1}", lightness.0)
            }
        }
    }

    /// The show that is on.
    pub fn show(&self) -> &'static str {
        self.design.deck.image.score.shows[self.light.show()]
            .kind
            .text()
    }

    /// The step that a channel plays, as the project has it: its first line.
    pub fn step(&self, channel: usize) -> &str {
        let text = self
            .step_span(channel)
            .map_or("", |span| self.design.project.sources.quote(span));
        text.lines().next().unwrap_or("").trim_end()
    }

    /// Whether the button is down.
    pub fn is_pressed(&self) -> bool {
        self.hand.presses()
    }

    fn step_span(&self, channel: usize) -> Option<Span> {
        self.lines.step(&self.light.player().channels()[channel])
    }

    fn tick(&mut self) {
        self.duties = self.light.play();
        let turn = self.light.turn(self.hand.tick());
        self.ticks += 1;
        self.look();
        if turn.switched && self.light.is_off() {
            self.news = match self.light.is_night() {
                true => "the evening is over; dark until the next".to_string(),
                false => "off; a tap wakes it".to_string(),
            };
        } else if turn.started.is_some() && self.pinned.is_none() {
            let why = match self.light.plays_once() {
                true => "once",
                false => self.show(),
            };
            self.news = format!("{why}: {}", self.scene());
            self.mind_flashes();
        }
    }

    /// Takes down what is put out.
    fn look(&mut self) {
        let every = (APART / self.design.grid.tick_seconds()).round().max(1.0) as u64;
        let new = self.ticks.is_multiple_of(every);
        for (history, duty) in self.history.iter_mut().zip(&self.duties) {
            let now = cie::lightness(duty.luminance());
            if new {
                history.push_back(now);
            } else if let Some(last) = history.back_mut() {
                // A flash between two moments is seen.
                last.0 = last.0.max(now.0);
            }
            if history.len() > MOMENTS {
                history.pop_front();
            }
        }
    }

    fn hold_still(&mut self) {
        if self.state == State::Plays {
            self.state = State::Paused;
        }
    }

    /// Where no channel comes to another step, it stays where it is.
    fn seek_next_step(&mut self) {
        let before = self.clone();
        let channels = self.design.project.channels.len();
        let steps = |session: &Self| -> Vec<Option<Span>> {
            (0..channels).map(|at| session.step_span(at)).collect()
        };
        let now = steps(self);
        let ticks = (PATIENCE / self.design.grid.tick_seconds()) as usize;
        for _ in 0..ticks {
            if matches!(self.state, State::Asks(_)) {
                return;
            }
            self.tick();
            if steps(self) != now {
                return;
            }
        }
        *self = before;
        self.news = format!("no other step within {PATIENCE} s");
    }

    /// The next pattern, by itself.
    fn pin_next(&mut self) {
        let mut patterns: Vec<usize> = preview::played(self.design)
            .map(|(_, scene)| scene)
            .collect();
        patterns.sort_unstable();
        let now = self.pinned.unwrap_or(self.light.scene());
        let next = patterns
            .iter()
            .find(|&&at| at > now)
            .or_else(|| patterns.first());
        match next {
            Some(&scene) => self.pin(scene),
            None => self.news = "the shows play no patterns".to_string(),
        }
    }

    /// Plays one scene from its start, whatever the shows say.
    pub fn pin(&mut self, scene: usize) {
        let eeprom = self.light.eeprom().to_vec();
        self.light = Light::pinned(self.design.works(), &eeprom, self.beginning(), scene);
        self.pinned = Some(scene);
        self.restart();
        self.news = format!("{} by itself; r goes back to the shows", self.scene());
    }

    /// Switches it off and on; it remembers what it had saved.
    fn power_up(&mut self, news: &str) {
        let eeprom = self.light.eeprom().to_vec();
        self.light = Light::power_up(self.design.works(), &eeprom, self.beginning());
        self.pinned = None;
        self.restart();
        self.news = news.to_string();
    }

    fn beginning(&self) -> Begin {
        Begin {
            chance: CHANCE,
            switch: self.hand.turned,
        }
    }

    fn restart(&mut self) {
        (self.ticks, self.owed) = (0, 0.0);
        self.hand.let_go();
        if matches!(self.state, State::Asks(_)) {
            self.state = State::Plays;
        }
        self.history.iter_mut().for_each(VecDeque::clear);
        self.begin();
    }

    /// The first tick of a light.
    fn begin(&mut self) {
        self.duties = self.light.play();
        self.light.turn(self.hand.tick());
        self.look();
        self.mind_flashes();
    }

    /// Waits for the person where the scene flashes too often at this speed.
    fn mind_flashes(&mut self) {
        let scene = self.light.scene();
        let scenes = &self.design.deck.image.score.scenes;
        if scenes[scene].steady_level().is_some() {
            return;
        }
        let design = self.design;
        let found = self.flashes[scene].get_or_insert_with(|| most_flashes(design, scene));
        let count = found[self.speed.saturating_sub(REAL)];
        let asks = count > SAFE && !self.agreed.contains(&self.flashing());
        self.state = match (asks, self.state) {
            (true, _) => State::Asks(count),
            (false, State::Asks(_)) => State::Plays,
            (false, state) => state,
        };
    }

    fn flashing(&self) -> (usize, usize) {
        (self.light.scene(), self.speed.max(REAL))
    }

    fn agree(&mut self) {
        if matches!(self.state, State::Asks(_)) {
            self.agreed.insert(self.flashing());
            self.state = State::Plays;
        }
    }
}

/// The most flashes in a second of a scene played at speed 1, 2 and 4; from many seeds, if it draws.
fn most_flashes(design: &Design, scene: usize) -> [usize; 3] {
    let takes = takes(design, scene);
    let found = takes
        .iter()
        .map(|take| flashes(design, &Frames::of(design, take)));
    found.fold([0; 3], |most, found| {
        std::array::from_fn(|at| most[at].max(found[at]))
    })
}
