//! Evenings: on for some hours of a day, dark for the others.

use super::asleep::{SLACK, awake, lit_by_press, paces};
use super::rig::{Button, play_on, tick};
use super::{Finding, Wrong, ensure};
use crate::conduct::EveningTicks;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Setup, Start};

const NO_EVENING: Outcome = Outcome::NotApplicable("there is no evening");

/// How fast the watchdog's oscillator is, against its table: a tenth off at 3 V and room temperature, and more at
/// other supplies and temperatures ('Watchdog Oscillator Frequency' among the typical characteristics; from memory).
const PACES: [f64; 5] = [1.0, 0.9, 1.1, 0.75, 1.3];

/// Periods that are played before the evening is passed over, and seconds after.
const PERIODS: f64 = 2.5;
const AFTER: f64 = 1.0;

/// An evening from its first tick to the start of the next.
struct Day {
    /// From the first tick to where the light is off, and to the next start, in seconds.
    on: f64,
    all: f64,
    /// Of the night: cycles, those in power-down, how often it slept, and how often without its detector.
    night: u64,
    asleep: u64,
    sleeps: u64,
    unwatched: u64,
    period: f64,
}

pub(super) fn day(setup: &Setup) -> Finding {
    let Some(evening) = setup.design.firmware.evening else {
        return Ok(NO_EVENING);
    };
    let seconds = |ticks: u32| f64::from(ticks) * tick(setup.design);
    let on = seconds(evening.on.0 + evening.goes.0);
    let every = on + seconds(evening.night.0);
    let mut worst = 0.0_f64;
    for pace in PACES {
        let day = play(setup, evening, pace)?;
        // A change of scene that is going on then has dimmed it already.
        let goes = seconds(evening.goes.0);
        ensure((on - goes - SLACK..=on + SLACK).contains(&day.on), || {
            format!("the evening lasts {:.2} s, not {on:.2} s", day.on)
        })?;
        // The rest of a period at the end of each, and of a fade; those of the evening count several times at night.
        let share = 1.0 + f64::from(evening.dark) / f64::from(evening.lit);
        let allowed = (day.period + goes) * share + SLACK;
        let error = day.all - every;
        ensure(error.abs() <= allowed, || {
            format!(
                "with a watchdog {pace} times as fast, a day lasts {:.1} s, not {every:.1} s",
                day.all
            )
        })?;
        worst = if error.abs() > worst.abs() {
            error
        } else {
            worst
        };
    }
    Ok(Outcome::Holds(format!(
        "with a watchdog that runs {}, a day is at most {:.1} s off",
        paces(&PACES),
        worst.abs()
    )))
}

/// An evening of which most is passed over, and its night, to the start of the next.
fn play(setup: &Setup, evening: EveningTicks, pace: f64) -> Result<Day, Wrong> {
    let (mut bench, begun) = lit(setup, pace)?;
    let period = bench.watchdog_period();
    play_on(&mut bench, PERIODS * period)?;
    let counted = f64::from(bench.periods());
    let expected = (bench.seconds() - begun) / period;
    ensure((counted - expected).abs() <= 1.0, || {
        format!("it counts {counted} periods of the watchdog in {expected:.1}")
    })?;
    let left = (AFTER / tick(setup.design)).ceil() as u32;
    let passed = bench.pass_evening(left);
    let goes = f64::from(evening.goes.0) * tick(setup.design);
    let rest = bench.until_off(2.0 * AFTER + goes + 1.0)?;
    let rest = rest.ok_or_else(|| Wrong::Seen("the evening does not end".to_string()))?;
    let off = bench.machine.seconds(rest.off.0) - begun + passed;
    let before = bench.machine.meters();
    let woken = bench.sleep_through()?;
    let after = bench.machine.meters();
    let all = bench.machine.seconds(woken.0) - begun + passed;
    play_on(&mut bench, 0.1)?;
    Ok(Day {
        on: off,
        all,
        night: woken - rest.still,
        asleep: after.powered_down - before.powered_down,
        sleeps: after.power_downs - before.power_downs,
        unwatched: after.unwatched - before.unwatched,
        period,
    })
}

/// A chip whose evening has begun, and when.
fn lit<'a>(setup: &'a Setup<'a>, pace: f64) -> Result<(Bench<'a>, f64), Wrong> {
    let mut bench = setup.power_up(&Start::default())?;
    bench.set_watchdog_pace(pace);
    let frame = bench.next_tick()?;
    let begun = bench.machine.seconds(frame.begun.0);
    Ok((bench, begun))
}

pub(super) fn asleep(setup: &Setup) -> Finding {
    let Some(evening) = setup.design.firmware.evening else {
        return Ok(NO_EVENING);
    };
    let day = play(setup, evening, 1.0)?;
    let awake = awake(day.asleep, day.night, "the night")?;
    let plan = &setup.design.plan;
    let rests = plan
        .power_down
        .as_ref()
        .is_some_and(|power_down| !power_down.watches_supply);
    let rests = rests && plan.brown_out.is_some();
    ensure(!rests || day.unwatched == day.sleeps, || {
        format!(
            "{} of {} times it slept with its brown-out detector on",
            day.sleeps - day.unwatched,
            day.sleeps
        )
    })?;
    let detector = if rests {
        ", its brown-out detector off in each"
    } else {
        ""
    };
    Ok(Outcome::Holds(format!(
        "{} sleeps{detector}; awake for {:.1} millionths of the night",
        day.sleeps,
        awake * 1e6
    )))
}

pub(super) fn pressed(setup: &Setup) -> Finding {
    let Some(evening) = setup.design.firmware.evening else {
        return Ok(NO_EVENING);
    };
    let button = Button::of(setup.design).filter(|_| setup.design.firmware.wakes);
    let Some(button) = button else {
        return Ok(Outcome::NotApplicable("no button wakes it"));
    };
    let (mut bench, _) = lit(setup, 1.0)?;
    let night = f64::from(evening.night.0) * tick(setup.design);
    let mut slowest = 0.0_f64;
    for share in [0.0, 0.5, 0.99] {
        bench.pass_evening(1);
        let goes = f64::from(evening.goes.0) * tick(setup.design);
        let rest = bench.until_off(goes + 1.0)?;
        ensure(rest.is_some(), || "the evening does not end".to_string())?;
        let press = bench.seconds() + share * night + tick(setup.design);
        let took = lit_by_press(&mut bench, &button, press, "at night")?;
        slowest = slowest.max(took);
        play_on(&mut bench, button.tap + 1.0)?;
        ensure(
            bench
                .model
                .left()
                .is_some_and(|left| left > evening.on.0 / 2),
            || "a press at night begins no whole evening".to_string(),
        )?;
    }
    Ok(Outcome::Holds(format!(
        "early and late at night: light after {:.1} ms at most, for a whole evening",
        slowest * 1e3
    )))
}
