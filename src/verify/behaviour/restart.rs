//! Starts that are no power-up: whatever was before, the light is the same.

use super::{Finding, ensure};
use crate::verify::Outcome;
use crate::verify::bench::{Before, Setup, Start};
use crate::verify::machine::ResetCause;
use crate::verify::pattern;

/// For how long each start is looked at, tick by tick and at the pins.
const SECONDS: f64 = 1.5;

const RESETS: [(ResetCause, &str); 3] = [
    (ResetCause::External, "the reset pin"),
    (ResetCause::BrownOut, "a supply that dips"),
    (ResetCause::Watchdog, "the watchdog"),
];

pub(super) fn resets(setup: &Setup) -> Finding {
    for (cause, called) in RESETS {
        same_light(setup, Before::Run(cause), called)?;
    }
    Ok(Outcome::Holds(
        "after a reset by its pin, by a supply that dips and by the watchdog it plays as after a \
         power-up"
            .into(),
    ))
}

pub(super) fn boot_loader(setup: &Setup) -> Finding {
    same_light(setup, Before::BootLoader, "a boot loader")?;
    Ok(Outcome::Holds(
        "with its timers, their interrupts and the watchdog left on, it plays as after a power-up"
            .into(),
    ))
}

fn same_light(setup: &Setup, before: Before, called: &str) -> Result<(), super::Wrong> {
    let start = Start {
        before,
        ..Start::default()
    };
    let seen = pattern::play(setup, &start, SECONDS)?;
    let failure = seen.failure.map_or_else(String::new, |it| it.to_string());
    ensure(failure.is_empty(), || format!("after {called}: {failure}"))
}
