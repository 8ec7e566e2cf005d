//! Power-ups, one after the other.

use std::collections::BTreeSet;

use super::stage::{play_on, quiet};
use super::{Finding, Remembered, ensure};
use crate::verify::Outcome;
use crate::verify::bench::{Setup, Start};

const POWER_UPS: usize = 12;

pub(super) fn seeds(setup: &Setup) -> Finding {
    let design = setup.design;
    if !design.firmware.features.draws {
        return Ok(Outcome::NotApplicable("nothing is random"));
    }
    // The state is saved at once: long before anything else that is.
    let at_once = quiet(design)
        - f64::from(u32::from(design.firmware.beats.quiet) * design.firmware.beats.ticks)
            * design.plan.tick.seconds();
    let mut eeprom = Vec::new();
    let mut seeds = BTreeSet::new();
    for power_up in 0..POWER_UPS {
        let start = Start {
            eeprom: eeprom.clone(),
            noise: power_up as u64,
            ..Start::default()
        };
        let mut bench = setup.power_up(&start)?;
        bench.next_tick()?;
        let generator = Remembered::of(&mut bench, design).generator;
        ensure(generator.is_some_and(|state| seeds.insert(state)), || {
            format!(
                "power-up {} starts from {generator:04x?} again",
                power_up + 1
            )
        })?;
        play_on(&mut bench, at_once)?;
        eeprom = bench.machine.eeprom().to_vec();
    }
    Ok(Outcome::Holds(format!(
        "{POWER_UPS} power-ups, each lasting {at_once:.2} s, have {} seeds",
        seeds.len()
    )))
}
