//! How often EEPROM cells are written.

use super::rig::{Rig, at_once, quiet};
use super::{Finding, ensure};
use crate::verify::Outcome;
use crate::verify::bench::{Setup, Start};

/// Ten years of a change an hour.
const CHANGES: f64 = 10.0 * 365.25 * 24.0;
/// Changes made on the chip, so that its records go round at least once on the smallest parts.
const ON_CHIP: u32 = 6;

pub(super) fn wear(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(memory) = design
        .firmware
        .memory
        .as_ref()
        .filter(|memory| memory.choices)
    else {
        return Ok(Outcome::NotApplicable("changes are not remembered"));
    };
    let Some(mut rig) = Rig::start(setup, &Start::default())? else {
        return Ok(Outcome::NotApplicable("there is no button"));
    };
    if !design.firmware.rules.taps() && !design.firmware.rules.holds() {
        return Ok(Outcome::NotApplicable("the button changes nothing"));
    }
    rig.watch(quiet(design))?;
    let before: Vec<u32> = rig.bench.machine.eeprom_wear().to_vec();
    for _ in 0..ON_CHIP {
        rig.press(rig.button.tap)?;
        rig.watch(quiet(design))?;
    }
    let writes = writes_since(&before, &rig);
    let bytes = f64::from(writes.iter().sum::<u32>()) / f64::from(ON_CHIP);
    ensure(bytes > 0.0, || "no change is saved".to_string())?;
    // Every record has its turn; its check byte is written twice in each, as the gap and as itself.
    let turns = CHANGES / f64::from(memory.records());
    let worst = 2.0 * turns;
    let most = f64::from(writes.iter().copied().max().unwrap_or(0));
    ensure(
        most <= 2.0 * (f64::from(ON_CHIP) / f64::from(memory.records())).ceil(),
        || format!("one cell is written {most} times in {ON_CHIP} changes"),
    )?;
    let endurance = f64::from(design.plan.chip.eeprom.endurance);
    ensure(worst <= endurance, || {
        format!("{worst:.0} writes to one cell in ten years; the datasheet has {endurance:.0}")
    })?;
    Ok(Outcome::Holds(format!(
        "{bytes:.1} bytes a change, spread over {} records: {worst:.0} writes to the busiest cell in \
         {CHANGES:.0} changes; the datasheet has {endurance:.0}",
        memory.records()
    )))
}

/// Writes to each cell since then.
fn writes_since(before: &[u32], rig: &Rig) -> Vec<u32> {
    let now = rig.bench.machine.eeprom_wear().iter();
    now.zip(before).map(|(now, before)| now - before).collect()
}

pub(super) fn seed_alone(setup: &Setup) -> Finding {
    let design = setup.design;
    if design.firmware.remembers_choices() {
        return Ok(Outcome::NotApplicable("changes are remembered"));
    }
    let start = Start::default();
    let erased = setup.power_up(&start)?.machine.eeprom_wear().to_vec();
    let Some(mut rig) = Rig::start(setup, &start)? else {
        return Ok(Outcome::NotApplicable("there is no button"));
    };
    rig.watch(at_once(design))?;
    let seed: u32 = writes_since(&erased, &rig).iter().sum();
    let memory = design.firmware.memory.as_ref();
    let most = memory.map_or(0, |memory| memory.saving.writing);
    ensure(seed <= most.into(), || {
        format!("a power-up writes {seed} bytes; a seed takes {most} at most")
    })?;
    let before = rig.bench.machine.eeprom_wear().to_vec();
    for _ in 0..ON_CHIP {
        rig.press(rig.button.tap)?;
        rig.watch(at_once(design))?;
    }
    let bytes: u32 = writes_since(&before, &rig).iter().sum();
    ensure(bytes == 0, || {
        format!("{ON_CHIP} taps write {bytes} bytes of the EEPROM")
    })?;
    Ok(Outcome::Holds(format!(
        "{seed} bytes at power-up, none at {ON_CHIP} taps"
    )))
}
