//! What survives a power cut, whenever it comes.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::stage::{Stage, play_on, quiet};
use super::{Finding, Remembered, Wrong, ensure};
use crate::design::Design;
use crate::player::{Light, Saved};
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Setup, Start};

const NOTHING: Outcome = Outcome::NotApplicable("nothing is remembered");
const ERASED: u8 = 0xFF;
/// What a byte that power failed on may read as, besides the old and the new one.
const TORN_ON_CHIP: [u8; 4] = [ERASED, 0x00, 0x55, 0x7F];
/// Saves made in the model, each with another state of the generator.
const SAVES_IN_MODEL: u32 = 300;
/// EEPROMs full of noise to start with.
const NOISES: u64 = 20;

pub(super) fn survives(setup: &Setup) -> Finding {
    let Some(mut stage) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    stage.press(stage.button.tap)?;
    let chosen = stage.remembered().choice();
    play_on(&mut stage.bench, quiet(setup.design))?;
    let eeprom = stage.bench.machine.eeprom().to_vec();
    let mut again = boot(setup, &eeprom, 1)?;
    let found = Remembered::of(&mut again, setup.design).choice();
    ensure(found == chosen, || {
        format!("show and places {chosen:?} come back as {found:?}")
    })?;
    Ok(Outcome::Holds(format!(
        "show {}, places {:?}",
        chosen.0 + 1,
        chosen.1
    )))
}

/// A byte that was written, and the EEPROM just before.
struct Write {
    before: Vec<u8>,
    saved: Saved,
}

pub(super) fn cuts(setup: &Setup) -> Finding {
    let Some(mut stage) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    let design = setup.design;
    play_on(&mut stage.bench, quiet(design))?;
    let old = stage.remembered().choice();
    let now = stage.bench.seconds();
    let tap = stage.button.tap;
    stage.bench.contact_at(now, true);
    stage.bench.contact_at(now + tap, false);
    let mut writes = Vec::new();
    let end = now + tap + quiet(design);
    while stage.bench.seconds() < end {
        if let Some(saved) = stage.bench.next_tick()?.saved {
            let before = stage.bench.machine.eeprom().to_vec();
            writes.push(Write { before, saved });
        }
    }
    let new = stage.remembered().choice();
    ensure(old != new && !writes.is_empty(), || {
        "a tap is never saved".to_string()
    })?;
    let mut starts = 0;
    for (index, write) in writes.iter().enumerate() {
        for torn in torn_values(write) {
            let eeprom = write.torn(torn);
            let mut bench = boot(setup, &eeprom, 1 + u64::from(torn))?;
            let found = Remembered::of(&mut bench, design);
            starts += 1;
            ensure(found.choice() == old || found.choice() == new, || {
                format!(
                    "power cut at byte {} of {} of a save, which then reads {torn:#04x}: show and \
                     places {:?}, neither the old {old:?} nor the new {new:?}",
                    index + 1,
                    writes.len(),
                    found.choice()
                )
            })?;
            ensure(found.generator != Some(0), || {
                "the generator starts from 0, which it never leaves".to_string()
            })?;
        }
    }
    let in_model = cuts_in_model(design, stage.bench.model.clone())?;
    Ok(Outcome::Holds(format!(
        "{starts} starts after cuts at each of {} writes; {in_model} more in the model",
        writes.len()
    )))
}

fn torn_values(write: &Write) -> Vec<u8> {
    let old = write.before[usize::from(write.saved.address)];
    let mut values = vec![old, write.saved.value];
    values.extend(TORN_ON_CHIP);
    values.sort_unstable();
    values.dedup();
    values
}

impl Write {
    /// The EEPROM after power failed during this write.
    fn torn(&self, value: u8) -> Vec<u8> {
        let mut eeprom = self.before.clone();
        eeprom[usize::from(self.saved.address)] = value;
        eeprom
    }
}

/// Taps the model again and again, so that many states are saved; after each write tries every value
/// that the byte could be left with. The number of starts.
fn cuts_in_model(design: &Design, mut light: Light) -> Result<u64, Wrong> {
    let button = design
        .firmware
        .button
        .ok_or_else(|| Wrong::Seen("the model has no button".to_string()))?;
    let mut starts = 0;
    for _ in 0..SAVES_IN_MODEL {
        let old = choice(&light, design);
        (0..=button.debounce).for_each(|_| {
            light.turn(true);
        });
        light.turn(false);
        let new = choice(&light, design);
        let mut written = 0;
        let bytes = design.firmware.memory.as_ref().map_or(0, |m| m.state().0) + 2;
        let mut eeprom = light.eeprom().to_vec();
        while written < bytes {
            let turn = light.turn(false);
            // Roam may change what is being saved.
            let newer = choice(&light, design);
            if let Some(saved) = turn.saved {
                written += 1;
                for torn in 0..=255 {
                    let mut cells = eeprom.clone();
                    cells[usize::from(saved.address)] = torn;
                    let found = choice(&Light::power_up(design, &cells), design);
                    starts += 1;
                    ensure([&old, &new, &newer].contains(&&found), || {
                        format!(
                            "power cut at byte {written} of {bytes} of a save, which then reads \
                             {torn:#04x}: {found:02x?}, neither the old {old:02x?} nor the new \
                             {new:02x?} (in the model)"
                        )
                    })?;
                }
                eeprom = light.eeprom().to_vec();
            }
        }
    }
    Ok(starts)
}

/// What a light remembers, but for the generator.
fn choice(light: &Light, design: &Design) -> Vec<u8> {
    let mut state = light.state();
    if design.firmware.features.draws {
        state.truncate(state.len() - 2);
    }
    state
}

pub(super) fn blank(setup: &Setup) -> Finding {
    if setup.design.firmware.memory.is_none() {
        return Ok(NOTHING);
    }
    let size = setup.design.plan.chip.eeprom.size.0 as usize;
    starts_anew(setup, &vec![ERASED; size], "erased")?;
    Ok(Outcome::Holds(format!("{size} erased bytes")))
}

pub(super) fn damaged(setup: &Setup) -> Finding {
    let Some(mut stage) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    stage.press(stage.button.tap)?;
    play_on(&mut stage.bench, quiet(setup.design))?;
    let good = stage.bench.machine.eeprom().to_vec();
    let Some(memory) = &setup.design.firmware.memory else {
        return Ok(NOTHING);
    };
    let record = memory.record.0 as usize;
    for bit in 0..8 {
        // One bit of each record: its first byte, which none shares.
        let mut eeprom = good.clone();
        eeprom
            .iter_mut()
            .step_by(record)
            .for_each(|byte| *byte ^= 1 << bit);
        starts_anew(
            setup,
            &eeprom,
            &format!("with bit {bit} of each record flipped"),
        )?;
    }
    Ok(Outcome::Holds(
        "each of eight bits flipped in every record".to_string(),
    ))
}

pub(super) fn noise(setup: &Setup) -> Finding {
    if setup.design.firmware.memory.is_none() {
        return Ok(NOTHING);
    }
    let size = setup.design.plan.chip.eeprom.size.0 as usize;
    for seed in 0..NOISES {
        let mut noise = StdRng::seed_from_u64(seed);
        let eeprom: Vec<u8> = (0..size).map(|_| noise.random()).collect();
        let mut bench = boot(setup, &eeprom, seed)?;
        let found = Remembered::of(&mut bench, setup.design);
        ensure(found.is_sound(setup.design), || {
            format!(
                "noise {seed}: show {}, places {:?}",
                found.show, found.places
            )
        })?;
        ensure(found.generator != Some(0), || {
            format!("noise {seed}: the generator starts from 0, which it never leaves")
        })?;
        play_on(&mut bench, 0.1)?;
    }
    Ok(Outcome::Holds(format!("{NOISES} EEPROMs full of noise")))
}

fn starts_anew(setup: &Setup, eeprom: &[u8], how: &str) -> Result<(), Wrong> {
    let mut bench = boot(setup, eeprom, 1)?;
    let found = Remembered::of(&mut bench, setup.design);
    let first = found.show == 0 && found.places.iter().all(|place| *place == 0);
    ensure(first, || {
        format!(
            "an EEPROM {how} starts show {}, places {:?}",
            found.show, found.places
        )
    })
}

/// A chip that starts with these contents of its EEPROM, at its first light.
fn boot<'a>(setup: &'a Setup<'a>, eeprom: &[u8], noise: u64) -> Result<Bench<'a>, Wrong> {
    let start = Start {
        eeprom: eeprom.to_vec(),
        noise,
        ..Start::default()
    };
    let mut bench = setup.power_up(&start)?;
    bench.next_tick()?;
    Ok(bench)
}

/// A chip on which a tap changes what is remembered. `None`: there is none, or it forgets.
fn choosing<'a>(setup: &'a Setup<'a>) -> Result<Option<Stage<'a>>, Wrong> {
    let firmware = &setup.design.firmware;
    let remembers = setup.design.project.memory.is_some() && firmware.memory.is_some();
    if !remembers || !firmware.features.taps {
        return Ok(None);
    }
    let shows = &setup.design.deck.image.score.shows;
    let several = shows.iter().position(|show| show.count > 1).unwrap_or(0);
    Stage::in_show(setup, several as u8)
}
