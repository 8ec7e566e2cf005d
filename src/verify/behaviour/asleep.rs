//! What evenings and sensors of light are held to alike, with the chip asleep until the next one.

use super::rig::{Button, tap_awake};
use super::{Wrong, ensure};
use crate::verify::bench::Bench;

/// What the set-up and the last tick make of a difference, in seconds.
pub(super) const SLACK: f64 = 0.1;

/// Awake for more than this share of the time, it would draw more than its sleep does.
const AWAKE: f64 = 1e-3;

/// How fast the watchdog's oscillator is in these checks, against its table.
pub(super) fn paces(paces: &[f64]) -> String {
    format!(
        "{} to {} times as fast as it should",
        paces.iter().copied().fold(1.0, f64::min),
        paces.iter().copied().fold(1.0, f64::max)
    )
}

/// The share of some cycles for which it was awake, which is next to nothing; `when` they were.
pub(super) fn awake(asleep: u64, all: u64, when: &str) -> Result<f64, Wrong> {
    let awake = 1.0 - asleep as f64 / all as f64;
    ensure(awake <= AWAKE, || {
        format!("it is awake for {awake:.5} of {when}")
    })?;
    Ok(awake)
}

/// The seconds from a press to the light, which are next to none; `when` it is pressed.
pub(super) fn lit_by_press(
    bench: &mut Bench,
    button: &Button,
    press: f64,
    when: &str,
) -> Result<f64, Wrong> {
    let took = tap_awake(bench, button, press)?;
    ensure((0.0..button.tap + SLACK).contains(&took), || {
        format!("pressed {when}, it lights {took:.2} s later")
    })?;
    Ok(took)
}
