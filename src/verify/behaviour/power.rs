//! Power-ups, one after the other.

use std::collections::BTreeSet;

use super::rig::{at_once, play_on};
use super::{Finding, Remembered, ensure};
use crate::verify::Outcome;
use crate::verify::bench::{Setup, Start};

const POWER_UPS: usize = 12;

pub(super) fn seeds(setup: &Setup) -> Finding {
    let design = setup.design;
    if !design.firmware.features.draws {
        return Ok(Outcome::NotApplicable("nothing is random"));
    }
    let at_once = at_once(design);
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

/// New chips, and how many of them may by chance begin as another does: of so many pairs one in
/// 65 536 on average.
const NEW_CHIPS: u64 = 24;
const ALIKE: usize = 1;

pub(super) fn new_chips(setup: &Setup) -> Finding {
    let design = setup.design;
    if !design.firmware.features.draws {
        return Ok(Outcome::NotApplicable("nothing is random"));
    }
    let mut seeds = BTreeSet::new();
    for noise in 0..NEW_CHIPS {
        let mut bench = setup.power_up(&Start {
            noise,
            ..Start::default()
        })?;
        bench.next_tick()?;
        seeds.extend(Remembered::of(&mut bench, design).generator);
    }
    ensure(seeds.len() + ALIKE >= NEW_CHIPS as usize, || {
        format!("{NEW_CHIPS} new chips have {} seeds", seeds.len())
    })?;
    Ok(Outcome::Holds(format!(
        "{NEW_CHIPS} erased chips, whose memory comes up with noise, have {} seeds",
        seeds.len()
    )))
}
