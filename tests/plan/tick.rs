//! The length of a tick.

use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::plan::{Tick, plan};
use duskloom::row::Judgement;
use duskloom::spec::ClockSource;
use duskloom::units::{Hertz, Time};
use proptest::prelude::*;

use crate::plan::project::{at, clock, holds, project};

fn tick(times: &[u64]) -> Tick {
    let times: Vec<Time> = times.iter().map(|&ms| Time::from_millis(ms)).collect();
    let mut trial = project("attiny2313a", &["PB2"]);
    trial.patterns = vec![holds(&times)];
    plan(&trial).unwrap().tick
}

/// 31,250 overflows a second: 5 ms are 156.25 of them, 4 ms are 125.
#[test]
fn the_largest_share_of_all_times_is_taken() {
    let five = tick(&[500, 250, 2_000]);
    assert_eq!(
        (five.overflows, five.fraction, five.whole_ticks),
        (156, 16_384, true)
    );
    assert!((five.rate.0 - 200.0).abs() < 1e-9);

    let four = tick(&[12, 20]);
    assert_eq!(
        (four.overflows, four.fraction, four.whole_ticks),
        (125, 0, true)
    );

    // 7 ms go into two ticks of 3.5 ms; 109.375 overflows.
    let half = tick(&[7]);
    assert_eq!(
        (half.overflows, half.fraction, half.whole_ticks),
        (109, 24_576, true)
    );
    assert_eq!(half.count(Time::from_millis(21)), 6.0);

    // 11 ms in three: no whole nanosecond, but exact all the same.
    let third = tick(&[11]);
    assert!(third.whole_ticks);
    assert_eq!(third.count(Time::from_millis(33)), 9.0);
}

/// 333 and 500 ms have no common share above 1 ms.
#[test]
fn times_without_a_common_share_are_counted_in_fractions_of_ticks() {
    let odd = tick(&[333, 500]);
    assert_eq!(
        (odd.overflows, odd.fraction, odd.whole_ticks),
        (125, 0, false)
    );
    assert_eq!(odd.count(Time::from_millis(333)), 83.25);
}

#[test]
fn the_persons_tick_is_taken_as_it_is() {
    let mut trial = project("attiny2313a", &["PB2"]);
    trial.tick = Some(at(Time::from_millis(3)));
    let three = plan(&trial).unwrap().tick;
    assert_eq!(
        (three.overflows, three.fraction, three.whole_ticks),
        (93, 49_152, false)
    );
}

/// 312.5 and 625 overflows, which no byte counts: two waits of 156.25, five of 125.
#[test]
fn a_long_tick_is_several_waits() {
    for (ms, waits, overflows, fraction) in [(8, 1, 250, 0), (10, 2, 156, 16_384), (20, 5, 125, 0)]
    {
        let mut trial = project("attiny2313a", &["PB2"]);
        trial.tick = Some(at(Time::from_millis(ms)));
        let tick = plan(&trial).unwrap().tick;
        assert_eq!(
            (tick.waits, tick.overflows, tick.fraction),
            (waits, overflows, fraction),
            "{ms} ms"
        );
        assert!((tick.seconds() - ms as f64 / 1e3).abs() < 1e-12);
    }
}

/// 500 overflows a second, so that two milliseconds are 256 cycles.
#[test]
fn the_default_tick_holds_its_work_at_a_slow_clock() {
    let mut trial = project("attiny13a", &["PB0"]);
    trial.clock = clock(128e3, ClockSource::Internal);
    trial.pwm.slowest = at(Hertz(400.0));
    let design = Design::new(trial).expect("it can be built");
    let verdict = budget(&design);
    let work = verdict.rows.iter().find(|row| row.name == "tick").unwrap();
    assert_eq!(work.verdict, Judgement::Fits, "{work:?}");
    assert!(design.plan.tick.seconds() > 5e-3);
}

#[test]
fn no_times_at_all_make_the_usual_tick() {
    let none = tick(&[]);
    assert_eq!(
        (none.overflows, none.fraction, none.whole_ticks),
        (125, 0, true)
    );
}

proptest! {
    /// Any times at any clock: the tick can be counted in a byte, is as long as it says to 8 ppm, and
    /// counts every time without an error that adds up.
    #[test]
    fn ticks_are_what_they_say(
        times in prop::collection::vec(1u64..20_000, 1..6),
        unit in prop::sample::select(vec![1_000u64, 10_000, 1_000_000, 10_000_000]),
        megahertz in prop::sample::select(vec![1.0, 1.2288, 4.0, 11.0592, 16.0, 20.0]),
    ) {
        let times: Vec<Time> = times.iter().map(|time| Time(time * unit)).collect();
        let mut trial = project("attiny2313a", &["PB2"]);
        trial.clock = clock(megahertz * 1e6, ClockSource::External);
        trial.patterns = vec![holds(&times)];
        let plan = plan(&trial).unwrap();
        let tick = plan.tick;
        prop_assert!((1..=250).contains(&tick.overflows));
        prop_assert_eq!(tick.waits, 1);
        let overflows = f64::from(tick.overflows) + f64::from(tick.fraction) / 65536.0;
        prop_assert!((tick.rate.0 * overflows / plan.drive.pwm().frequency.0 - 1.0).abs() < 1e-12);
        // Half a 65536th of an overflow, in ticks of at least seven.
        prop_assert!(tick.error_ppm.abs() <= 0.5 / 65536.0 / overflows * 1e6 + 1e-6);
        prop_assert!((1.9e-3..=5.1e-3).contains(&tick.ideal_seconds()));
        for time in times {
            let count = tick.count(time);
            prop_assert!(!tick.whole_ticks || count.fract() == 0.0);
            prop_assert!((count * tick.ideal_seconds() - time.seconds()).abs() < 1e-9 * time.seconds().max(1.0));
        }
    }
}
