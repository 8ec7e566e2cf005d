//! What the chip draws: within its range, both ends included; agreed on where channels play
//! together, each its own where they play alone.

use duskloom::score::Outcome;
use duskloom::spec::ChannelId;
use duskloom::units::{Level, Ticks};
use proptest::prelude::*;

use crate::score::projects::recipe;
use crate::score::rig::{self, Rig};

/// How long a draw took, or which branch it chose: what channels that play together share.
fn outline(drawn: &[Outcome]) -> Vec<(u32, Option<u8>)> {
    let one = |drawn: &Outcome| match drawn {
        Outcome::Random(ticks, _) | Outcome::Keep(ticks) => (ticks.0, None),
        Outcome::Branch(branch) => (0, Some(*branch)),
    };
    drawn.iter().map(one).collect()
}

fn rig_of(track: &str) -> Rig {
    let text = format!(
        "chip: attiny2313a\nchannels: [quay, houses, boats]\ntick: 5 ms\npatterns:\n  drawn: {track}\n"
    );
    Rig::new(&rig::read(&text)).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// At up to 256 values each: the generator draws a byte, so of more values the highest ones
    /// are not reached.
    #[test]
    fn draws_stay_in_their_range_and_reach_both_ends(
        (low, high) in (1_u32..100, 0_u32..=40).prop_map(|(low, span)| (low, low + span)),
        (dim, bright) in (0_u32..=100, 0_u32..=100).prop_map(|(a, b)| (a.min(b), a.max(b))),
        seed in any::<u16>(),
    ) {
        let rig = rig_of(&format!(
            "[{{to: {dim} % .. {bright} %, over: {} ms .. {} ms}}]", low * 5, high * 5
        ));
        let take = rig.play(0, seed, 400_000);
        let whole = |percent: u32| Level((f64::from(percent) / 100.0 * 255.0).round() as u8);
        let drawn = take.drawn[0].iter().map(|drawn| match drawn {
            Outcome::Random(ticks, level) => (*ticks, *level),
            other => panic!("{other:?}"),
        });
        let (times, levels): (Vec<Ticks>, Vec<Level>) = drawn.unzip();
        prop_assert_eq!(times.iter().min(), Some(&Ticks(low)));
        prop_assert_eq!(times.iter().max(), Some(&Ticks(high)));
        prop_assert_eq!(levels.iter().min(), Some(&whole(dim)));
        prop_assert_eq!(levels.iter().max(), Some(&whole(bright)));
    }

    #[test]
    fn channels_of_a_track_share_its_draws(recipe in recipe(), seed in any::<u16>()) {
        let project = recipe.project();
        let Ok(rig) = Rig::new(&project) else { return Ok(()) };
        let take = rig.play(0, seed, 3000);
        let outline = |id: &ChannelId| outline(&take.drawn[usize::from(id.0)]);
        for track in project.patterns[0].tracks.iter().filter(|track| !track.each) {
            for pair in track.channels.windows(2) {
                let (one, other) = (outline(&pair[0]), outline(&pair[1]));
                let both = one.len().min(other.len());
                prop_assert_eq!(&one[..both], &other[..both]);
            }
        }
    }
}

#[test]
fn channels_of_one_target_go_to_one_level() {
    let rig = rig_of("[{to: 0 % .. 100 %, over: 100 ms .. 400 ms}]");
    let take = rig.play(0, 3, 20_000);
    assert_eq!(take.drawn[0], take.drawn[1]);
    assert_eq!(take.levels[0], take.levels[2]);
}

#[test]
fn staggered_channels_show_the_same_draws_later() {
    let rig = rig_of(
        "{channels: all, stagger: 250 ms, steps: [{to: 0 % .. 100 %, over: 100 ms .. 400 ms}]}",
    );
    let take = rig.play(0, 3, 20_000);
    assert_eq!(take.levels[0][..19_900], take.levels[2][100..]);
}

#[test]
fn each_channel_by_itself_draws_for_itself() {
    let rig =
        rig_of("{channels: all, each: true, steps: [{to: 0 % .. 100 %, over: 100 ms .. 800 ms}]}");
    for seed in 0..50 {
        let take = rig.play(0, seed, 5_000);
        for (one, other) in [(0, 1), (1, 2), (0, 2)] {
            assert_ne!(take.drawn[one], take.drawn[other], "seed {seed}");
        }
    }
}

#[test]
fn every_channel_is_picked_and_every_branch_taken() {
    let rig = rig_of("[{pick: all, steps: [{set: 100 %, hold: 50 ms}, {set: 0 %, hold: 50 ms}]}]");
    let take = rig.play(0, 9, 4_000);
    for levels in &take.levels {
        assert!(levels.iter().any(|level| level.0 == 255));
    }
    let lit = |tick: usize| {
        take.levels
            .iter()
            .filter(|levels| levels[tick].0 > 0)
            .count()
    };
    assert!((0..4_000).all(|tick| lit(tick) <= 1), "one at a time");
}
