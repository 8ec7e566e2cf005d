//! A sensor of light: on in the dark, off in the bright.

use super::asleep::{SLACK, awake, lit_by_press, paces};
use super::rig::{Button, leaving, play_on, tick};
use super::{Finding, Wrong, ensure};
use crate::conduct::Dusk;
use crate::design::Design;
use crate::units::Lux;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Rest, Setup, Start};

const NO_SENSOR: Outcome = Outcome::NotApplicable("there is no sensor of light");

/// How fast the watchdog's oscillator is, against its table: see the evenings'.
const PACES: [f64; 3] = [1.0, 0.75, 1.3];

/// Of the time that it must be dark or bright: too short to count, and long enough to tell that nothing comes of it.
const SHORT: f64 = 0.6;
const LONG: f64 = 3.0;

/// A sensor's lights and times.
struct Room {
    /// Darker than dark, between dark and bright, brighter than bright.
    dark: Lux,
    between: Lux,
    bright: Lux,
    /// In seconds: what the project wants; until it has gone, and until it has come, by the watchdog's periods.
    steady: f64,
    goes: f64,
    comes: [f64; 2],
}

impl Room {
    fn of(design: &Design, period: f64) -> Option<(Dusk, Self)> {
        let dusk = design.firmware.dusk?;
        let sensor = design.project.sensor.as_ref()?;
        let (dark, bright) = (sensor.dark.value.0, sensor.bright.value.0);
        let steady = sensor.steady.value.seconds();
        Some((
            dusk,
            Self {
                dark: Lux(0.7 * dark),
                between: Lux((dark * bright).sqrt()),
                bright: Lux(1.4 * bright),
                steady,
                goes: f64::from(dusk.room.steady + 1) * tick(design) + leaving(design) + SLACK,
                comes: [
                    f64::from(dusk.room.looks - 1) * period - SLACK,
                    f64::from(dusk.room.looks + 1) * period + SLACK,
                ],
            },
        ))
    }
}

pub(super) fn day(setup: &Setup) -> Finding {
    let mut slowest = [0.0_f64; 2];
    for pace in PACES {
        let mut bench = setup.power_up(&Start::default())?;
        bench.set_watchdog_pace(pace);
        bench.next_tick()?;
        let Some((_, room)) = Room::of(setup.design, bench.watchdog_period()) else {
            return Ok(NO_SENSOR);
        };
        stays_on(&mut bench, &room)?;
        let since = bench.seconds();
        let rest = goes(&mut bench, &room)?;
        slowest[0] = slowest[0].max(bench.machine.seconds(rest.off.0) - since);
        stays_off(&mut bench, &room)?;
        let took = comes(&mut bench, &room)?;
        slowest[1] = slowest[1].max(took);
        play_on(&mut bench, 0.2)?;
    }
    Ok(Outcome::Holds(format!(
        "off {:.1} s after it got bright, on {:.1} s after dusk, with a watchdog {}; \
         headlights, clouds and light between the two do nothing",
        slowest[0],
        slowest[1],
        paces(&PACES)
    )))
}

/// Lit, neither a moment of brightness puts it off, nor light between the two.
fn stays_on(bench: &mut Bench, room: &Room) -> Result<(), Wrong> {
    for (light, times) in [
        (room.bright, SHORT),
        (room.dark, SHORT),
        (room.between, LONG),
    ] {
        bench.shine_on(light);
        let rest = bench.until_off(times * room.steady)?;
        ensure(rest.is_none(), || {
            format!("{light} for {:.1} s puts it off", times * room.steady)
        })?;
    }
    Ok(())
}

/// In the bright it goes, and not too soon.
fn goes(bench: &mut Bench, room: &Room) -> Result<Rest, Wrong> {
    bench.shine_on(room.bright);
    let since = bench.seconds();
    let rest = bench.until_off(room.goes)?;
    let rest = rest.ok_or_else(|| Wrong::Seen(format!("{} does not put it off", room.bright)))?;
    let took = bench.machine.seconds(rest.off.0) - since;
    ensure(took >= room.steady, || {
        format!("it goes after {took:.2} s in the bright")
    })?;
    Ok(rest)
}

/// By day, neither a moment of darkness brings it, nor light between the two; and it sleeps.
fn stays_off(bench: &mut Bench, room: &Room) -> Result<(), Wrong> {
    let since = (bench.machine.now(), bench.machine.meters().powered_down);
    let lights = [
        (room.bright, LONG),
        (room.dark, SHORT),
        (room.bright, SHORT),
        (room.between, LONG),
    ];
    for (light, times) in lights {
        bench.shine_on(light);
        let woken = bench.rests_for(times * room.steady)?;
        ensure(!woken, || {
            format!("{light} for {:.1} s brings it", times * room.steady)
        })?;
    }
    let slept = bench.machine.meters().powered_down - since.1;
    awake(slept, bench.machine.now() - since.0, "the day")?;
    Ok(())
}

/// In the dark it comes, and not too soon; the seconds that took.
fn comes(bench: &mut Bench, room: &Room) -> Result<f64, Wrong> {
    bench.shine_on(room.dark);
    let since = bench.seconds();
    let woken = bench.sleep_through()?;
    let took = bench.machine.seconds(woken.0) - since;
    let [least, most] = room.comes;
    ensure((least..=most).contains(&took), || {
        format!("it comes after {took:.2} s in the dark")
    })?;
    Ok(took)
}

pub(super) fn hours(setup: &Setup) -> Finding {
    let mut bench = setup.power_up(&Start::default())?;
    bench.next_tick()?;
    let Some((dusk, room)) = Room::of(setup.design, bench.watchdog_period()) else {
        return Ok(NO_SENSOR);
    };
    if dusk.on.is_none() {
        return Ok(Outcome::NotApplicable("it is on as long as it is dark"));
    }
    bench.pass_evening((1.0 / tick(setup.design)).ceil() as u32);
    let rest = bench.until_off(1.0 + leaving(setup.design) + SLACK)?;
    ensure(rest.is_some(), || "the evening does not end".to_string())?;
    bench.shine_on(room.dark);
    let woken = bench.rests_for(LONG * room.steady + room.comes[1])?;
    ensure(!woken, || {
        "the same night, another evening begins".to_string()
    })?;
    bench.shine_on(room.bright);
    let woken = bench.rests_for(room.comes[1])?;
    ensure(!woken, || "an evening begins in the bright".to_string())?;
    let took = comes(&mut bench, &room)?;
    play_on(&mut bench, 0.2)?;
    let whole = bench.model.left() > dusk.on.map(|on| on.0 / 2);
    ensure(whole, || "dusk begins no whole evening".to_string())?;
    Ok(Outcome::Holds(format!(
        "over, it stays dark for the rest of the night; {took:.1} s after the next dusk it is on for a whole evening"
    )))
}

pub(super) fn pressed(setup: &Setup) -> Finding {
    let mut bench = setup.power_up(&Start::default())?;
    bench.next_tick()?;
    let Some((_, room)) = Room::of(setup.design, bench.watchdog_period()) else {
        return Ok(NO_SENSOR);
    };
    let button = Button::of(setup.design).filter(|_| setup.design.firmware.wakes);
    let Some(button) = button else {
        return Ok(Outcome::NotApplicable("no button wakes it"));
    };
    goes(&mut bench, &room)?;
    let press = bench.seconds() + tick(setup.design);
    let took = lit_by_press(&mut bench, &button, press, "by day")?;
    goes(&mut bench, &room)?;
    Ok(Outcome::Holds(format!(
        "light after {:.1} ms; then it goes as before",
        took * 1e3
    )))
}
