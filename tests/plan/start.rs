//! Timers start in phase: the plan's writes are played cycle by cycle on counters as the datasheets
//! describe them (ATmega328P DS40002061, 'Timer/Counter0 and Timer/Counter1 Prescalers').

use duskloom::chip::{Reach, all};
use duskloom::plan::{Plan, plan};
use duskloom::units::Hertz;
use proptest::prelude::*;

use crate::plan::project::{at, project};

/// The counts of all timers, some cycles after the last one was started.
fn counts_after(plan: &Plan, cycles: u32) -> Vec<u32> {
    let drive = plan.drive.timer().unwrap();
    let divisor = u32::from(drive.timing.prescaler);
    // `out` takes effect in its one cycle, `sts` in its second.
    let takes = |reach: Reach| if reach == Reach::Memory { 2 } else { 1 };
    let mut now = 0;
    let starts: Vec<u32> = drive
        .common
        .start
        .go
        .iter()
        .map(|go| {
            now += takes(go.reach);
            now
        })
        .collect();
    let end = now + cycles;
    let counts = drive
        .timers
        .iter()
        .zip(&drive.common.start.go)
        .zip(starts)
        .map(|((timer, go), start)| {
            let own_prescaler = go.bits.contains(&format!("PSR{}", timer.number).as_str());
            let counted = match divisor {
                1 => end - start,
                divisor if own_prescaler => (end - start) / divisor,
                // The prescaler was reset at cycle 0; its edges are common to all.
                divisor => end / divisor - start / divisor,
            };
            u32::from(timer.preset.value) + counted
        });
    counts.collect()
}

proptest! {
    #[test]
    fn all_timers_show_the_same_count(
        index in 0..all().count(),
        divide in prop::bool::ANY,
        cycles in 0u32..5_000,
    ) {
        let chip = all().nth(index).unwrap();
        let mut pins: Vec<String> =
            chip.outputs().map(|(_, output)| output.pin.to_string()).collect();
        pins.sort();
        pins.dedup();
        let pins: Vec<&str> = pins.iter().map(String::as_str).collect();
        let mut trial = project(&chip.name, &pins);
        trial.pwm.slowest = at(Hertz(500.0));
        let slower = chip.clocks.internal[0].hertz.0 / 8.0 / 256.0;
        trial.pwm.frequency = divide.then(|| at(Hertz(slower)));
        let plan = plan(&trial).unwrap();
        let drive = plan.drive.timer().unwrap();
        prop_assert_eq!(drive.timing.prescaler, if divide { 8 } else { 1 });
        let needs_reset = divide && drive.timers.len() > 1;
        prop_assert_eq!(drive.common.start.reset.is_some(), needs_reset);
        let counts = counts_after(&plan, cycles);
        // A timer that restarts a prescaler of its own may be one count behind.
        let slack = u32::from(divide && chip.name == "atmega32u4");
        prop_assert!(counts.iter().all(|&count| counts[0] - count <= slack), "{counts:?}");
    }
}
