//! Hours and days: a few bytes, and shown when they were asked for.

use std::time::Duration;

use duskloom::player::{Generator, Player};
use duskloom::score::Op;
use proptest::prelude::*;

use crate::score::rig::{Rig, read};

fn rig(steps: &str) -> Rig {
    let project = read(&format!(
        "chip: attiny2313a\nchannels: [quay]\npatterns:\n  night:\n{steps}"
    ));
    Rig::new(&project).unwrap()
}

/// The bytes of a pattern that comes to a level, holds it so long, and leaves it.
fn held(hold: &str) -> usize {
    let steps = format!(
        "    - {{to: 40 %, over: 3 s}}\n    - {{hold: {hold}}}\n    - {{to: 0 %, over: 3 s}}\n"
    );
    rig(&steps).deck.image.bytes.len()
}

#[test]
fn a_hold_of_any_length_takes_a_few_bytes() {
    // Two fades of five bytes at most, and `again`.
    let others = 11;
    for hold in [
        "20 min",
        "8 h",
        "12 h",
        "23 h",
        "144 h",
        "168 h",
        "100.1234567 h",
        "77777777 ms",
    ] {
        let all = held(hold);
        assert!(all <= others + 12, "{hold}: {all} bytes");
    }
}

/// When levels change, in milliseconds from the start of the pattern, for so long.
fn changes(rig: &Rig, time: Duration) -> Vec<(u64, u8)> {
    let mut player = Player::playing(&rig.deck, Generator::new(1), 0);
    let (mut tick, mut found) = (1_u64, Vec::new());
    while (tick as f64 * rig.tick) < time.as_nanos() as f64 {
        let level = player.levels().next().unwrap().0;
        if found.last().is_none_or(|(_, last)| *last != level) {
            found.push(((tick as f64 * rig.tick / 1e6).round() as u64, level));
        }
        let ticks = u64::from(player.still()) + 1;
        player.advance(ticks);
        tick += ticks;
    }
    found
}

#[test]
fn a_hold_ends_when_it_should() {
    let hour = 3_600_000;
    for hours in [1, 12, 100, 168] {
        let steps = format!(
            "    - {{set: 40 %}}\n    - {{hold: {hours} h}}\n    - {{set: 80 %}}\n    - {{hold: 1 s}}\n"
        );
        let rig = rig(&steps);
        let seen = changes(&rig, Duration::from_secs(3_600 * hours + 3));
        let tick = (rig.tick / 1e6) as u64 + 1;
        let times: Vec<u64> = seen.iter().map(|(time, _)| *time).collect();
        assert!(
            times[1].abs_diff(hours * hour) <= tick,
            "{hours} h: {seen:?}"
        );
        assert!(
            times[2].abs_diff(hours * hour + 1_000) <= tick,
            "{hours} h: {seen:?}"
        );
    }
}

#[test]
fn a_fade_of_hours_takes_a_few_bytes() {
    let image = rig("    - {to: 80 %, over: 3 h}\n    - {to: 0 %, over: 8 h}\n")
        .deck
        .image;
    assert!(image.bytes.len() <= 24, "{} bytes", image.bytes.len());
    let soft = rig("    - {to: 80 %, over: 8 h, ease: soft}\n    - {to: 0 %, over: 8 h}\n");
    assert!(
        soft.deck.image.bytes.len() <= 80,
        "{} bytes",
        soft.deck.image.bytes.len()
    );
}

/// A chase of hours: far behind is ahead in the round before, with the step that a channel is in then, or
/// within it where that is a hold.
#[test]
fn a_channel_may_be_hours_behind() {
    let project = read(
        "chip: attiny85\nchannels: 3\npatterns:\n  chase:\n    stagger: 2 h\n    steps: \
         [{to: 100 %, over: 1 h}, {to: 0 %, over: 1 h}, {hold: 3 h}, {to: 40 %, over: 1 min}, \
         {to: 0 %, over: 1 min}]\n",
    );
    let rig = Rig::new(&project).unwrap();
    let minutes = |minutes: f64| (minutes * 60e9 / rig.tick) as u64;
    let mut player = Player::playing(&rig.deck, Generator::new(1), 0);
    let mut now = 0;
    let mut levels_at = |minute: f64| -> Vec<i32> {
        let then = minutes(minute);
        player.advance(then - now);
        now = then;
        player.levels().map(|level| i32::from(level.0)).collect()
    };
    // Level 255 is reached after an hour; each of the others is two hours later.
    let near = |found: Vec<i32>, wanted: [i32; 3]| {
        let apart = found
            .iter()
            .zip(wanted)
            .map(|(found, wanted)| (found - wanted).abs());
        assert!(apart.max() <= Some(2), "{found:?}, not {wanted:?}");
    };
    near(levels_at(30.0), [128, 0, 119]);
    near(levels_at(90.0), [128, 0, 0]);
    near(levels_at(150.0), [0, 128, 0]);
    near(levels_at(240.0 + 60.0), [0, 0, 255]);
    near(levels_at(240.0 + 90.0), [119, 0, 128]);
}

/// What has no hours in it has nothing for them either.
#[test]
fn minutes_need_no_slow_lines() {
    let image = rig("    - {to: 80 %, over: 1 min}\n    - {to: 0 %, over: 2 min}\n")
        .deck
        .image;
    assert!(!image.format.slow);
    let slow = |op: &Op| matches!(op, Op::Slow { .. });
    let mut lines = image
        .score
        .programs
        .iter()
        .flat_map(|program| &program.lines);
    assert!(!lines.any(|line| slow(&line.op)));
}

#[test]
fn times_of_hours_can_be_drawn() {
    let rig = rig("    - {to: 20 % .. 60 %, over: 20 min .. 40 min}\n    - {hold: 1 h .. 3 h}\n");
    let seen = changes(&rig, Duration::from_secs(75 * 60));
    let last = seen
        .iter()
        .find(|(_, level)| *level == seen.last().unwrap().1)
        .unwrap()
        .0;
    assert!((1_200_000..=2_400_000).contains(&last), "{seen:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// At once through ticks in which nothing moves, or one by one.
    #[test]
    fn going_ahead_is_stepping(minutes in 5_u64..90, to in 0_u32..=100, strides in prop::collection::vec(1_u64..200_000, 1..12)) {
        let rig = rig(&format!(
            "    - {{to: {to} %, over: {minutes} min}}\n    - {{hold: {minutes} min}}\n    - {{set: 50 %}}\n    - {{hold: 7 s}}\n"
        ));
        let mut stepping = Player::playing(&rig.deck, Generator::new(1), 0);
        let mut going = stepping.clone();
        for stride in strides {
            (0..stride).for_each(|_| stepping.step());
            going.advance(stride);
            prop_assert!(going.levels().eq(stepping.levels()));
            prop_assert_eq!(going.channels()[0].next(), stepping.channels()[0].next());
            prop_assert_eq!(going.still(), stepping.still());
        }
    }
}
