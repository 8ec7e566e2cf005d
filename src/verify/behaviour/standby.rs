//! Standby: off by a long hold, on by a tap.

use super::rig::{Rig, leaving, play_on, tap_awake, tick};
use super::{Finding, Remembered, Wrong, ensure};
use crate::design::Design;
use crate::units::Time;
use crate::verify::Outcome;
use crate::verify::bench::{Before, Rest, Setup, Start};
use crate::verify::machine::{Moment, ResetCause};

pub(super) const NO_STANDBY: Outcome = Outcome::NotApplicable("there is no standby");

/// For how many seconds it is left alone while it is off; or for more days than one.
const ALONE: f64 = 60.0;
const DAYS: f64 = 1.5;

/// How much longer than it must the button is held, in seconds.
const MARGIN: f64 = 0.3;

/// From the end of a tap to the first tick, at most, in seconds.
const SWIFT: f64 = 0.05;

pub(super) fn off(setup: &Setup) -> Finding {
    let Some((mut rig, long)) = rig(setup, &Start::default())? else {
        return Ok(NO_STANDBY);
    };
    let fade = leaving(setup.design);
    let (begun, rest) = switch_off(setup, &mut rig, long)?;
    let went = rig.bench.machine.seconds(rest.off.0) - begun;
    ensure(
        (went - long - fade).abs() <= 4.0 * tick(setup.design),
        || format!("it goes off after {went:.3} s, not {:.3} s", long + fade),
    )?;
    let alone = alone(setup.design);
    rig.bench.leave_off(alone.seconds())?;
    Ok(Outcome::Holds(format!(
        "off {went:.2} s after the press began, with every pin dark; then its clock stood still for {alone}"
    )))
}

pub(super) fn wakes(setup: &Setup) -> Finding {
    let Some((mut rig, long)) = rig(setup, &Start::default())? else {
        return Ok(NO_STANDBY);
    };
    let keeps = setup.design.firmware.remembers_choices();
    let mut latest = 0.0_f64;
    let rounds = 4;
    for _ in 0..rounds {
        let before = chosen(setup, &mut rig)?;
        switch_off(setup, &mut rig, long)?;
        latest = latest.max(switch_on(setup, &mut rig)?);
        let after = rig.settle(rig.button.tap)?.choice();
        ensure(!keeps || after == before, || {
            format!("it wakes with show and scenes {after:?}, and went off with {before:?}")
        })?;
    }
    let same = if keeps {
        ", each time to the scene that was on"
    } else {
        ""
    };
    Ok(Outcome::Holds(format!(
        "{rounds} taps woke it{same}, with light after {:.1} ms at most",
        latest * 1e3
    )))
}

/// Cycles from the moment at which the clock stops to that of a press.
const INSTANTS: [i64; 9] = [-8, -4, -2, -1, 0, 1, 2, 4, 8];

pub(super) fn instant(setup: &Setup) -> Finding {
    let mut still = None;
    for cycles in [None].into_iter().chain(INSTANTS.map(Some)) {
        // Each time the same until then.
        let Some((mut rig, long)) = rig(setup, &Start::default())? else {
            return Ok(NO_STANDBY);
        };
        let press = still
            .zip(cycles)
            .map(|(Moment(still), cycles)| still.saturating_add_signed(cycles));
        if let Some(at) = press {
            let at = rig.bench.machine.seconds(at);
            hold(&mut rig, long);
            rig.bench.contact_at(at, true);
            rig.bench.contact_at(at + rig.button.tap, false);
            gone_off(setup, &mut rig, long)?;
            let frame = rig.bench.next_tick()?;
            let took = rig.bench.machine.seconds(frame.begun.0) - at;
            ensure(took <= rig.button.tap + SWIFT, || {
                let cycles = cycles.unwrap_or_default();
                format!("pressed {cycles} cycles after its clock stops, it wakes {took:.3} s later")
            })?;
        } else {
            still = Some(switch_off(setup, &mut rig, long)?.1.still);
        }
    }
    Ok(Outcome::Holds(format!(
        "{} presses from {} cycles before its clock stops to {} after: each woke it",
        INSTANTS.len(),
        -INSTANTS[0],
        INSTANTS[INSTANTS.len() - 1]
    )))
}

pub(super) fn dark(setup: &Setup) -> Finding {
    if !setup.design.firmware.starts_dark {
        return Ok(Outcome::NotApplicable(
            "it starts lit, or there is no standby",
        ));
    }
    let mut bench = setup.power_up(&Start::default())?;
    let rest = bench.until_off(SWIFT)?;
    ensure(rest.is_some(), || {
        format!("{SWIFT} s after power it is not off")
    })?;
    let alone = alone(setup.design);
    bench.leave_off(alone.seconds())?;
    Ok(Outcome::Holds(format!(
        "every pin dark and its clock still for {alone} from the moment that power comes"
    )))
}

pub(super) fn cut(setup: &Setup) -> Finding {
    let Some((mut rig, long)) = rig(setup, &Start::default())? else {
        return Ok(NO_STANDBY);
    };
    let before = chosen(setup, &mut rig)?;
    switch_off(setup, &mut rig, long)?;
    let eeprom = rig.bench.machine.eeprom().to_vec();
    let mut bench = setup.power_up(&Start {
        eeprom,
        ..Start::default()
    })?;
    bench.next_tick()?;
    let after = Remembered::of(&mut bench, setup.design).choice();
    let keeps = setup.design.firmware.remembers_choices();
    ensure(!keeps || after == before, || {
        format!("it comes back with show and scenes {after:?}, and went off with {before:?}")
    })?;
    Ok(Outcome::Holds(
        "with its power back it plays what was on before".into(),
    ))
}

pub(super) fn bitten(setup: &Setup) -> Finding {
    if setup.design.plan.watchdog.is_none() {
        return Ok(Outcome::NotApplicable("there is no watchdog"));
    }
    let start = Start {
        before: Before::Run(ResetCause::Watchdog),
        ..Start::default()
    };
    let Some((mut rig, long)) = rig(setup, &start)? else {
        return Ok(NO_STANDBY);
    };
    switch_off(setup, &mut rig, long)?;
    rig.bench.leave_off(ALONE)?;
    switch_on(setup, &mut rig)?;
    play_on(&mut rig.bench, 0.5)?;
    Ok(Outcome::Holds(format!(
        "restarted by it, then put off: still off after {ALONE:.0} s, and on by a tap"
    )))
}

/// A bench with a button, and for how long that is held to switch off. `None`: there is no standby.
pub(super) fn rig<'a>(
    setup: &'a Setup<'a>,
    start: &Start,
) -> Result<Option<(Rig<'a>, f64)>, Wrong> {
    let rig = Rig::start(setup, start)?;
    Ok(rig.and_then(|rig| {
        let long = rig.button.long?;
        Some((rig, long))
    }))
}

/// Show and scenes that are on: others than after power, where the button can choose.
fn chosen(setup: &Setup, rig: &mut Rig) -> Result<(u8, Vec<u8>), Wrong> {
    Ok(match setup.design.firmware.rules.taps() {
        true => rig.press(rig.button.tap)?.choice(),
        false => rig.remembered().choice(),
    })
}

/// Holds the button for long enough; when the press began, and how it rests.
pub(super) fn switch_off(setup: &Setup, rig: &mut Rig, long: f64) -> Result<(f64, Rest), Wrong> {
    let begun = hold(rig, long);
    Ok((begun, gone_off(setup, rig, long)?))
}

/// When the press begins.
fn hold(rig: &mut Rig, long: f64) -> f64 {
    let begun = rig.bench.seconds();
    rig.bench.contact_at(begun, true);
    rig.bench.contact_at(begun + long + MARGIN, false);
    begun
}

fn gone_off(setup: &Setup, rig: &mut Rig, long: f64) -> Result<Rest, Wrong> {
    let patience = 2.0 * long + leaving(setup.design) + 1.0;
    let rest = rig.bench.until_off(patience)?;
    rest.ok_or_else(|| Wrong::Seen(format!("held for {long:.2} s, it does not go off")))
}

/// Taps the button; the seconds from the press to the first tick.
pub(super) fn switch_on(setup: &Setup, rig: &mut Rig) -> Result<f64, Wrong> {
    let begun = rig.bench.seconds() + tick(setup.design);
    tap_awake(&mut rig.bench, &rig.button, begun)
}

/// For how long it is left alone: where evenings come by themselves, beyond the next one.
fn alone(design: &Design) -> Time {
    let every = design.project.evening.map(|evening| evening.value.every);
    let seconds = every.map_or(ALONE, |every| DAYS * every.seconds());
    Time::from_millis((seconds * 1e3) as u64)
}
