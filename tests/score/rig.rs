//! A project on the player, and its intent beside it.

use std::collections::HashMap;
use std::path::Path;
use std::sync::{Mutex, OnceLock};

use duskloom::diagnostic::{self, Diagnostic};
use duskloom::firmware::{before_tables, room_for_track};
use duskloom::light::{Depth, Packed, Scale, Surroundings, pack};
use duskloom::plan::plan;
use duskloom::player::{Deck, Generator, Player, Trim};
use duskloom::score::Outcome;
use duskloom::score::intent::Intent;
use duskloom::score::{Grid, encode, score};
use duskloom::spec::{self, Project};
use duskloom::units::Level;

/// A project that was lowered and encoded. Its light is that of the default curve: what is looked
/// at here are levels.
pub(super) struct Rig {
    pub deck: Deck,
    pub intent: Intent,
    /// A tick in nanoseconds.
    pub tick: f64,
    pub whole_ticks: bool,
}

/// What the player showed from tick 1 on.
pub(super) struct Take {
    /// By channel, then by tick (the first is tick 1).
    pub levels: Vec<Vec<Level>>,
    /// By channel: the ticks at which a line of its program began, 0 included.
    pub begins: Vec<Vec<u32>>,
    /// By channel.
    pub drawn: Vec<Vec<Outcome>>,
}

impl Rig {
    /// # Errors
    /// What the compiler does not accept.
    pub(super) fn new(project: &Project) -> Result<Self, Vec<Diagnostic>> {
        let plan = plan(project)?;
        let grid = Grid::new(plan.tick.ideal_seconds(), plan.tick.whole_ticks);
        let score = score(project, grid)?;
        let image = encode(&score, before_tables(&plan), room_for_track(&plan))?;
        let trims = project
            .channels
            .iter()
            .map(|channel| Trim::new(channel.trim.value))
            .collect();
        let tick = plan.tick.ideal_seconds();
        Ok(Self {
            deck: Deck {
                image,
                light: default_light(project),
                trims,
                plain: vec![false; project.channels.len()],
            },
            intent: Intent::new(project, tick),
            tick: tick * 1e9,
            whole_ticks: plan.tick.whole_ticks,
        })
    }

    /// Plays a pattern for so many ticks.
    pub(super) fn play(&self, scene: usize, seed: u16, ticks: u32) -> Take {
        let mut player = Player::new(&self.deck, Generator::new(seed));
        player.start(scene);
        let channels = self.deck.trims.len();
        let mut take = Take {
            levels: vec![Vec::with_capacity(ticks as usize); channels],
            begins: vec![Vec::new(); channels],
            drawn: vec![Vec::new(); channels],
        };
        for tick in 0..=ticks {
            if tick > 0 {
                player.step();
            }
            for (all, new) in take.drawn.iter_mut().zip(player.drawn()) {
                all.extend_from_slice(new);
            }
            for (i, channel) in player.channels().iter().enumerate() {
                if channel.begins() {
                    take.begins[i].push(tick);
                }
                if tick > 0 {
                    take.levels[i].push(channel.level);
                }
            }
        }
        take
    }
}

/// Packing takes longer than all else, so each number of levels is packed once.
fn default_light(project: &Project) -> Packed {
    static PACKED: OnceLock<Mutex<HashMap<u16, Packed>>> = OnceLock::new();
    let mut packed = PACKED.get_or_init(Mutex::default).lock().unwrap();
    let levels = project.brightness.levels.value;
    packed
        .entry(levels)
        .or_insert_with(|| {
            let mut brightness = project.brightness.clone();
            brightness.curve.value = spec::Curve::Linear;
            pack(
                &Scale::new(&brightness),
                Depth::new(4),
                Surroundings::bare(false),
            )
        })
        .clone()
}

/// A project from its text.
pub(super) fn read(text: &str) -> Project {
    let bytes = text.as_bytes().to_vec();
    spec::read_with(Path::new("here/lights.yaml"), &|_| Ok(bytes.clone()))
        .unwrap_or_else(|report| panic!("{}\n{text}", diagnostic::render(&report, false)))
}
