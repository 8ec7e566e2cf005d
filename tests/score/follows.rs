//! The player follows the intent: levels, boundaries, and no drift.

use std::path::Path;

use duskloom::score::intent::{self, CURVED_SLACK, DRIFT, LEVELS, Moment, SLACK, Stretch};
use duskloom::spec::{self, ChannelId, Ease, PatternId};
use duskloom::units::Share;
use proptest::prelude::*;

use crate::score::projects::recipe;
use crate::score::rig::{Rig, Take};

/// Ticks that a generated pattern is played for.
const TICKS: u32 = 6000;

/// What the intent says of one channel as far as a take goes.
pub(super) struct Meant {
    stretches: Vec<Stretch>,
    tick: f64,
    whole_ticks: bool,
}

impl Meant {
    pub(super) fn new(rig: &Rig, take: &Take, channel: usize) -> Self {
        let ticks = take.levels[channel].len() as f64;
        let end = Moment((ticks + 2.0) * rig.tick);
        let drawn = &take.drawn[channel];
        let course = rig
            .intent
            .course(PatternId(0), ChannelId(channel as u8), drawn);
        Self {
            stretches: course.take_while(|stretch| stretch.begin < end).collect(),
            tick: rig.tick,
            whole_ticks: rig.whole_ticks,
        }
    }

    /// How far the beginning of stretch `index` may be from its time, in ticks.
    fn slack(&self, index: usize) -> f64 {
        if self.whole_ticks {
            0.5 + 1e-6
        } else {
            SLACK + index as f64 * DRIFT
        }
    }

    /// The lowest and highest share within the slack of a tick. Stretches never turn, so their
    /// ends and the ends of that time are enough.
    ///
    /// `hint`: where to begin searching; starts at 0, for ticks in order.
    pub(super) fn between(&self, tick: u32, hint: &mut usize) -> (Share, Share) {
        let around = |slack: f64| {
            let [from, until] = [f64::from(tick) - slack, f64::from(tick) + slack];
            [Moment(from * self.tick), Moment(until * self.tick)]
        };
        let slack = self.slack(*hint + 1);
        let [from, until] = around(slack);
        while *hint + 1 < self.stretches.len() && self.stretches[*hint].end < from {
            *hint += 1;
        }
        let mut range = (f64::INFINITY, f64::NEG_INFINITY);
        for stretch in &self.stretches[*hint..] {
            if stretch.begin > until && range.0.is_finite() {
                break;
            }
            let times = match stretch.path {
                intent::Path::Fade { ease, .. } if ease != Ease::Linear && !self.whole_ticks => {
                    around(slack.max(CURVED_SLACK))
                }
                intent::Path::Wave { .. } if !self.whole_ticks => around(slack.max(CURVED_SLACK)),
                _ => [from, until],
            };
            for share in times.map(|at| stretch.share(at).0) {
                range = (range.0.min(share), range.1.max(share));
            }
        }
        (Share(range.0), Share(range.1))
    }

    /// Whether all stretches around a tick, one before to one after, are slower than `speed` (a
    /// share per tick), and none begins with a jump.
    fn slow(&self, tick: u32, speed: f64, hint: usize) -> bool {
        let reach = 1.0 + self.slack(hint + 1);
        let from = Moment((f64::from(tick) - reach) * self.tick);
        let until = Moment((f64::from(tick) + reach) * self.tick);
        let near = |stretch: &&Stretch| stretch.end >= from && stretch.begin <= until;
        let first = hint.saturating_sub(3);
        let around = self.stretches[first..].iter();
        around
            .take_while(|stretch| stretch.begin <= until)
            .filter(near)
            .all(|stretch| {
                let jump = stretch.jump && stretch.begin >= from;
                !jump && fastest(stretch) * self.tick <= speed
            })
    }
}

/// The greatest speed of a stretch, as a share per nanosecond.
fn fastest(stretch: &Stretch) -> f64 {
    let steepest = match stretch.path {
        intent::Path::Still(_) => 0.0,
        intent::Path::Fade { ease, .. } => match ease {
            Ease::Linear => 1.0,
            Ease::Soft => 1.5,
            Ease::SoftIn | Ease::SoftOut => 2.0,
        },
        // A sine is at most this much steeper than a straight line over the same half.
        intent::Path::Wave { .. } => std::f64::consts::FRAC_PI_2,
    };
    let rise = match stretch.path {
        intent::Path::Wave {
            low, high, phases, ..
        } => 2.0 * (high.0 - low.0) * (phases.1 - phases.0),
        _ => (stretch.last().0 - stretch.first().0).abs(),
    };
    steepest * rise / (stretch.end.0 - stretch.begin.0)
}

/// How far the channel's levels are from the intent at worst, and at which tick.
fn worst(rig: &Rig, take: &Take, channel: usize) -> (f64, u32) {
    let meant = Meant::new(rig, take, channel);
    let top = f64::from(rig.deck.image.score.top.0);
    let mut hint = 0;
    let mut worst = (0.0, 0);
    for (i, level) in take.levels[channel].iter().enumerate() {
        let tick = i as u32 + 1;
        let (low, high) = meant.between(tick, &mut hint);
        let level = f64::from(level.0);
        let off = (low.0 * top - level).max(level - high.0 * top);
        if off > worst.0 {
            worst = (off, tick);
        }
    }
    worst
}

/// The boundary that is farthest beyond the slack from the beginning of any line, in ticks: its
/// time, and how far it is off.
fn stray_boundary(rig: &Rig, take: &Take, channel: usize) -> Option<(f64, f64)> {
    let meant = Meant::new(rig, take, channel);
    let begins = &take.begins[channel];
    let ticks = take.levels[channel].len() as f64;
    let off = |ideal: f64| {
        let after = begins.partition_point(|tick| f64::from(*tick) < ideal);
        let near = begins[after.saturating_sub(1)..].iter().take(2);
        near.map(|tick| (f64::from(*tick) - ideal).abs())
            .fold(f64::INFINITY, f64::min)
    };
    let all = meant.stretches.iter().enumerate().skip(1);
    // Where one wait follows another there is nothing to see, and perhaps one line for both.
    let seen = |(i, stretch): &(usize, &Stretch)| stretch.path != meant.stretches[i - 1].path;
    all.filter(seen)
        .map(|(i, stretch)| (i, stretch.begin.0 / rig.tick))
        .filter(|(_, ideal)| (1.0..ticks - 1.0).contains(ideal))
        .map(|(i, ideal)| (i, ideal, off(ideal)))
        .find(|(i, _, off)| *off > meant.slack(*i))
        .map(|(_, ideal, off)| (ideal, off))
}

/// The first tick at which the channel moved by several levels where it is meant to move slower
/// than one level in two ticks.
fn leap(rig: &Rig, take: &Take, channel: usize) -> Option<u32> {
    let meant = Meant::new(rig, take, channel);
    let speed = 0.5 / f64::from(rig.deck.image.score.top.0);
    let mut hint = 0;
    (2..=take.levels[channel].len() as u32).find(|tick| {
        let levels = &take.levels[channel][*tick as usize - 2..*tick as usize];
        meant.between(*tick, &mut hint);
        levels[0].0.abs_diff(levels[1].0) > 1 && meant.slow(*tick, speed, hint)
    })
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
                prop_assume!(!["P001", "P002", "P003", "P004", "P006"].contains(&code));
                return Err(TestCaseError::fail(format!("{errors:?}")));
            }
        };
        let take = rig.play(0, seed, TICKS);
        for channel in 0..rig.deck.trims.len() {
            let (off, tick) = worst(&rig, &take, channel);
            prop_assert!(off <= LEVELS + 1e-6, "channel {channel} is {off} levels off at tick {tick}");
            let stray = stray_boundary(&rig, &take, channel);
            prop_assert!(stray.is_none(), "channel {channel}: boundary, ticks off: {stray:?}");
            let leap = leap(&rig, &take, channel);
            prop_assert!(leap.is_none(), "channel {channel} leaps at tick {leap:?}");
        }
    }
}

/// What is drawn on the chip comes to a whole level, from the first round on.
#[test]
fn a_loop_that_ends_with_a_draw_begins_at_a_whole_level() {
    let text = "chip: attiny2313a\nchannels: 1\nbrightness: {levels: 64}\npatterns:\n  ebb:\n    \
                - {to: 0 %, over: 2980 ms, ease: soft}\n    - {to: 20 %, over: 20 ms .. 22 ms}\n";
    let read = spec::read_with(Path::new("ebb.yaml"), &|_| Ok(text.as_bytes().to_vec()));
    let rig = Rig::new(&read.expect("a sound project")).expect("it fits");
    let (off, tick) = worst(&rig, &rig.play(0, 1, TICKS), 0);
    assert!(off <= LEVELS + 1e-6, "{off} levels off at tick {tick}");
}
