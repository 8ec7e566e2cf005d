//! Projects drawn by proptest.

use duskloom::diagnostic::Span;
use duskloom::spec::{ChannelId, Draw, Project, Step, Times, Track};
use duskloom::units::Time;
use proptest::collection::vec;
use proptest::prelude::*;

use crate::score::rig;
use crate::score::sketch::{Place, Sketch, WaveSketch, placed, sketch, wave};

/// What a project is drawn from.
#[derive(Debug, Clone)]
pub(super) struct Recipe {
    chip: &'static str,
    channels: usize,
    levels: u16,
    /// Milliseconds.
    tick: Option<u32>,
    /// The unit of all times, in nanoseconds.
    unit: u64,
    tracks: Vec<TrackRecipe>,
}

#[derive(Debug, Clone)]
struct TrackRecipe {
    steps: Vec<Sketch>,
    endless: Option<Endless>,
    each: bool,
    stagger: u32,
    ahead: u32,
    draws: Draws,
}

/// What a track's last step is.
#[derive(Debug, Clone)]
enum Endless {
    Wave(WaveSketch),
    Repeat(Vec<Sketch>),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Draws {
    None,
    OnChip { levels: bool },
    Compiled { seed: u64, rounds: u16 },
}

/// A chip, and how many channels it can have.
fn chip() -> impl Strategy<Value = (&'static str, usize)> {
    let chips: [(&str, usize); 6] = [
        ("attiny2313a", 4),
        ("attiny85", 3),
        ("attiny13a", 2),
        ("attiny84a", 4),
        ("atmega88", 6),
        ("atmega328p", 6),
    ];
    proptest::sample::select(chips.to_vec()).prop_flat_map(|(chip, most)| (Just(chip), 1..=most))
}

fn levels() -> impl Strategy<Value = u16> {
    prop_oneof![
        3 => Just(256_u16),
        1 => Just(64_u16),
        1 => Just(2_u16),
        2 => 2_u16..=256,
    ]
}

/// Milliseconds, ten of them, odd ones, and ones that fit nothing.
fn unit() -> impl Strategy<Value = u64> {
    prop_oneof![
        Just(5_000_000),
        Just(10_000_000),
        Just(7_300_000),
        Just(4_000_001),
        4_000_000_u64..20_000_000,
    ]
}

fn draws() -> impl Strategy<Value = Draws> {
    prop_oneof![
        3 => Just(Draws::None),
        2 => any::<bool>().prop_map(|levels| Draws::OnChip { levels }),
        1 => (any::<u64>(), 1_u16..4).prop_map(|(seed, rounds)| Draws::Compiled { seed, rounds }),
    ]
}

fn endless() -> impl Strategy<Value = Option<Endless>> {
    prop_oneof![
        4 => Just(None),
        1 => wave().prop_map(|wave| Some(Endless::Wave(wave))),
        1 => vec(sketch(), 1..3).prop_map(|steps| Some(Endless::Repeat(steps))),
    ]
}

fn track() -> impl Strategy<Value = TrackRecipe> {
    let shift = || prop_oneof![2 => Just(0_u32), 1 => 1_u32..300];
    (
        vec(sketch(), 0..6),
        endless(),
        any::<bool>(),
        shift(),
        shift(),
        draws(),
    )
        .prop_map(
            |(steps, endless, each, stagger, ahead, draws)| TrackRecipe {
                steps,
                endless,
                each,
                stagger,
                ahead,
                draws,
            },
        )
}

pub(super) fn recipe() -> impl Strategy<Value = Recipe> {
    let tick = prop_oneof![3 => Just(None), 1 => (2_u32..=6).prop_map(Some)];
    (chip(), levels(), tick, unit(), vec(track(), 1..=3)).prop_map(
        |((chip, channels), levels, tick, unit, tracks)| Recipe {
            chip,
            channels,
            levels,
            tick,
            unit,
            tracks,
        },
    )
}

impl Recipe {
    /// The project: one pattern, whose tracks share the channels.
    pub(super) fn project(&self) -> Project {
        let names: Vec<_> = (0..self.channels).map(|i| format!("c{i}")).collect();
        let mut text = format!(
            "chip: {}\nchannels: [{}]\nbrightness: {{levels: {}}}\n",
            self.chip,
            names.join(", "),
            self.levels
        );
        if let Some(tick) = self.tick {
            text.push_str(&format!("tick: {tick} ms\n"));
        }
        text.push_str("patterns:\n  drawn:\n    - {hold: 1 s}\nshows:\n  - solo: {}\n");
        let mut project = rig::read(&text);
        project.patterns[0].tracks = self.tracks();
        project
    }

    fn tracks(&self) -> Vec<Track> {
        let count = self.tracks.len().min(self.channels);
        let share = |i: usize| i * self.channels / count..(i + 1) * self.channels / count;
        let own = |i: usize| share(i).map(|id| ChannelId(id as u8)).collect();
        let recipes = self.tracks.iter().take(count).enumerate();
        recipes
            .map(|(i, track)| track.track(own(i), self.unit))
            .collect()
    }
}

impl TrackRecipe {
    fn track(&self, channels: Vec<ChannelId>, unit: u64) -> Track {
        let place = Place {
            parts: !self.each && self.stagger == 0,
            draws: self.draws != Draws::None,
            levels: self.draws != Draws::OnChip { levels: false },
            on_chip: matches!(self.draws, Draws::OnChip { .. }),
            unit,
            channels,
        };
        let endless = self.endless.as_ref().map(|endless| match endless {
            Endless::Wave(wave) => Step::Wave(place.wave(wave, Times::Forever)),
            Endless::Repeat(steps) => Step::Repeat {
                times: Times::Forever,
                steps: place.steps(steps),
            },
        });
        let mut steps = match (&endless, self.steps.is_empty()) {
            (Some(_), true) => Vec::new(),
            _ => place.steps(&self.steps),
        };
        steps.extend(endless.map(placed));
        let draw = match self.draws {
            Draws::Compiled { seed, rounds } => Some(placed(Draw { seed, rounds })),
            Draws::None | Draws::OnChip { .. } => None,
        };
        Track {
            span: Span::default(),
            each: self.each,
            stagger: placed(Time(u64::from(self.stagger) * unit)),
            ahead: placed(Time(u64::from(self.ahead) * unit)),
            draw,
            steps,
            channels: place.channels,
        }
    }
}
