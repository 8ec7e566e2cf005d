//! The player follows the intent: levels, boundaries, and no drift.

use duskloom::score::intent::{DRIFT, LEVELS, Moment, SLACK, Stretch};
use duskloom::spec::ChannelId;
use proptest::prelude::*;

use crate::projects::recipe;
use crate::rig::{Rig, Take};

/// Ticks that a generated pattern is played for.
const TICKS: u32 = 6000;

/// What the intent says of one channel as far as a take goes.
struct Meant {
    stretches: Vec<Stretch>,
    tick: f64,
    top: f64,
}

impl Meant {
    fn new(rig: &Rig, take: &Take, channel: usize) -> Self {
        let ticks = take.levels[channel].len() as f64;
        let end = Moment((ticks + 2.0) * rig.tick);
        let drawn = &take.drawn[channel];
        let course = rig.intent.course(0, ChannelId(channel as u8), drawn);
        Self {
            stretches: course.take_while(|stretch| stretch.begin < end).collect(),
            tick: rig.tick,
            top: f64::from(rig.deck.image.score.top.0),
        }
    }

    /// The lowest and highest level, as real numbers, from `slack` ticks before a tick until as
    /// much after it. Stretches never turn, so their ends and the ends of that time are enough.
    fn between(&self, tick: u32, slack: f64, hint: &mut usize) -> (f64, f64) {
        let from = Moment((f64::from(tick) - slack) * self.tick);
        let until = Moment((f64::from(tick) + slack) * self.tick);
        while *hint + 1 < self.stretches.len() && self.stretches[*hint].end < from {
            *hint += 1;
        }
        let mut range = (f64::INFINITY, f64::NEG_INFINITY);
        for stretch in &self.stretches[*hint..] {
            if stretch.begin > until && range.0.is_finite() {
                break;
            }
            for at in [from, until] {
                let level = stretch.share(at).0 * self.top;
                range = (range.0.min(level), range.1.max(level));
            }
        }
        range
    }
}

/// How far the channel's levels are from the intent at worst, and at which tick.
fn worst(rig: &Rig, take: &Take, channel: usize) -> (f64, u32) {
    let meant = Meant::new(rig, take, channel);
    let mut hint = 0;
    let mut worst = (0.0, 0);
    for (i, level) in take.levels[channel].iter().enumerate() {
        let tick = i as u32 + 1;
        let slack = SLACK + f64::from(tick) * DRIFT;
        let (low, high) = meant.between(tick, slack, &mut hint);
        let level = f64::from(level.0);
        let off = (low - level).max(level - high).max(0.0);
        if off > worst.0 {
            worst = (off, tick);
        }
    }
    worst
}

/// The boundary that is farthest from the beginning of any line, in ticks: its time and how far.
fn worst_boundary(rig: &Rig, take: &Take, channel: usize) -> (f64, f64) {
    let meant = Meant::new(rig, take, channel);
    let begins = &take.begins[channel];
    let ticks = take.levels[channel].len() as f64;
    let mut worst = (0.0, 0.0);
    for stretch in &meant.stretches {
        let ideal = stretch.begin.0 / rig.tick;
        if !(1.0..ticks - 1.0).contains(&ideal) {
            continue;
        }
        let after = begins.partition_point(|tick| f64::from(*tick) < ideal);
        let near = |i: usize| begins.get(i).map_or(f64::INFINITY, |tick| (f64::from(*tick) - ideal).abs());
        let off = near(after).min(near(after.saturating_sub(1)));
        if off - ideal * DRIFT > worst.1 {
            worst = (ideal, off - ideal * DRIFT);
        }
    }
    worst
}

proptest! {
    #![proptest_config(ProptestConfig { max_global_rejects: 1_000_000, ..ProptestConfig::default() })]

    #[test]
    fn levels_and_boundaries_are_those_of_the_intent(recipe in recipe(), seed in any::<u16>()) {
        let project = recipe.project();
        let rig = match Rig::new(&project) {
            Ok(rig) => rig,
            Err(errors) => {
                let code = errors[0].code;
                prop_assume!(!["P001", "P002", "P003"].contains(&code));
                return Err(TestCaseError::fail(format!("{errors:?}")));
            }
        };
        let take = rig.play(0, seed, TICKS);
        for channel in 0..rig.deck.trims.len() {
            let (off, tick) = worst(&rig, &take, channel);
            prop_assert!(off <= LEVELS + 1e-6, "channel {channel} is {off} levels off at tick {tick}");
            let (ideal, off) = worst_boundary(&rig, &take, channel);
            prop_assert!(off <= SLACK, "channel {channel}: the boundary at {ideal} is {off} ticks off");
        }
    }
}
