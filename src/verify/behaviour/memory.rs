//! What survives a power cut, whenever it comes.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::rig::{Rig, calm, play_on, quiet};
use super::{Finding, Remembered, Wrong, ensure};
use crate::conduct::{Kept, Saved};
use crate::design::Design;
use crate::firmware::Light;
use crate::score::{ShowKind, ShowRange};
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Setup, Start};

const NOTHING: Outcome = Outcome::NotApplicable("nothing is remembered");
const ERASED: u8 = 0xFF;
/// What a byte that power failed on may read as, besides the old and the new one, where it can.
const TORN_ON_CHIP: [u8; 5] = [ERASED, 0x00, 0x55, 0x7F, 0xFE];
/// Saves made in the model, each with another state of the generator.
const SAVES_IN_MODEL: u32 = 300;
/// EEPROMs full of noise to start with.
const NOISES: u64 = 20;

pub(super) fn survives(setup: &Setup) -> Finding {
    let Some(mut rig) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    rig.press(rig.button.tap)?;
    let chosen = rig.remembered().choice();
    play_on(&mut rig.bench, quiet(setup.design))?;
    let eeprom = rig.bench.machine.eeprom().to_vec();
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

/// Changes that are timed, each at another moment of the firmware's beat.
const TIMED: u32 = 5;
/// How far apart those moments are, in seconds.
const APART: f64 = 0.037;

pub(super) fn in_time(setup: &Setup) -> Finding {
    let Some(mut rig) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    let design = setup.design;
    let Some(memory) = design.project.memory else {
        return Ok(NOTHING);
    };
    if calm(design, rig.remembered().show) < 2.0 * quiet(design) {
        return Ok(Outcome::NotApplicable("roam moves on too soon to tell"));
    }
    let Some(kept) = &design.firmware.memory else {
        return Ok(NOTHING);
    };
    let write = design.plan.chip.eeprom.write();
    let within = (kept.saving).safe_within(&design.plan.tick, memory.value.after, write);
    let most = within.seconds();
    let (mut soonest, mut latest) = (f64::INFINITY, 0.0_f64);
    for turn in 0..TIMED {
        play_on(&mut rig.bench, APART * f64::from(turn))?;
        let took = seconds_until_safe(&mut rig, design, 3.0 * most)?;
        (soonest, latest) = (soonest.min(took), latest.max(took));
        ensure(took <= most, || {
            format!("a change is safe after {took:.2} s, not within {most:.2} s")
        })?;
    }
    Ok(Outcome::Holds(format!(
        "{TIMED} changes are safe after {soonest:.2} to {latest:.2} s; the project wants {}",
        memory.value.after
    )))
}

/// Taps; how long after the change the EEPROM brings it back, were the power cut.
fn seconds_until_safe(rig: &mut Rig, design: &Design, patience: f64) -> Result<f64, Wrong> {
    let playing = |rig: &mut Rig| choice(rig.bench.remembered(), design);
    let before = playing(rig);
    let now = rig.bench.seconds();
    let tap = rig.button.tap;
    rig.bench.contact_at(now, true);
    rig.bench.contact_at(now + tap, false);
    let end = now + tap + patience;
    while playing(rig) == before && rig.bench.seconds() < end {
        rig.bench.next_tick()?;
    }
    let changed = rig.bench.seconds();
    let wanted = playing(rig);
    while rig.bench.seconds() < end {
        // A byte that is being written shows its old value.
        let found = Light::recalled(&design.firmware, rig.bench.machine.eeprom());
        if found.is_some_and(|found| choice(found, design) == wanted) {
            break;
        }
        rig.bench.next_tick()?;
    }
    Ok(rig.bench.seconds() - changed)
}

/// A byte that was written, and the EEPROM just before.
struct Write {
    before: Vec<u8>,
    saved: Saved,
}

pub(super) fn cuts(setup: &Setup) -> Finding {
    let Some(mut rig) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    let design = setup.design;
    play_on(&mut rig.bench, quiet(design))?;
    let now = rig.bench.seconds();
    let tap = rig.button.tap;
    rig.bench.contact_at(now, true);
    rig.bench.contact_at(now + tap, false);
    let mut writes = Vec::new();
    let end = now + tap + rig.button.debounce + quiet(design);
    while rig.bench.seconds() < end {
        if let Some(saved) = rig.bench.next_tick()?.saved {
            let before = rig.bench.machine.eeprom().to_vec();
            writes.push(Write { before, saved });
        }
    }
    let Some(first) = writes.first() else {
        return Err(Wrong::Seen("a tap is never saved".to_string()));
    };
    // What would come back from before the save, and does from after it.
    let boots = |eeprom: &[u8]| -> Result<_, Wrong> {
        Ok(Remembered::of(&mut boot(setup, eeprom, 1)?, design).choice())
    };
    let (old, new) = (boots(&first.before)?, boots(rig.bench.machine.eeprom())?);
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
        }
    }
    let in_model = cuts_in_model(design, rig.bench.model.clone())?;
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
    values.retain(|&torn| can_be(torn, old, write.saved.value));
    values
}

/// Whether a byte that power failed on can read so. Programming erases it first, which sets all its
/// bits, and then clears those that are to be 0: no bit that is 1 before and after is ever 0.
fn can_be(torn: u8, old: u8, new: u8) -> bool {
    torn | !(old & new) == 0xFF
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
    let memory = design.firmware.memory.as_ref();
    let bytes = memory.map_or(0, |memory| memory.state.0) + 2;
    let boots = |eeprom: &[u8]| {
        Light::recalled(&design.firmware, eeprom).map(|state| choice(state, design))
    };
    let mut starts = 0;
    for _ in 0..SAVES_IN_MODEL {
        for down in [true, false] {
            (0..button.debounce).for_each(|_| {
                light.turn(down);
            });
        }
        let mut writes = Vec::new();
        while writes.len() < bytes as usize {
            let before = light.eeprom().to_vec();
            if let Some(saved) = light.turn(false).saved {
                writes.push(Write { before, saved });
            }
        }
        let (old, new) = (boots(&writes[0].before), boots(light.eeprom()));
        for (index, write) in writes.iter().enumerate() {
            let before = write.before[usize::from(write.saved.address)];
            for torn in (0..=255).filter(|&torn| can_be(torn, before, write.saved.value)) {
                let found = boots(&write.torn(torn));
                starts += 1;
                ensure(found == old || found == new, || {
                    format!(
                        "power cut at byte {} of {bytes} of a save, which then reads {torn:#04x}: \
                         {found:02x?}, neither the old {old:02x?} nor the new {new:02x?} (in the \
                         model)",
                        index + 1
                    )
                })?;
            }
        }
    }
    Ok(starts)
}

/// A state without the generator.
fn choice(mut state: Vec<u8>, design: &Design) -> Vec<u8> {
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
    let Some(mut rig) = choosing(setup)? else {
        return Ok(NOTHING);
    };
    rig.press(rig.button.tap)?;
    play_on(&mut rig.bench, quiet(setup.design))?;
    let good = rig.bench.machine.eeprom().to_vec();
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
        play_on(&mut bench, 0.1)?;
    }
    Ok(Outcome::Holds(format!("{NOISES} EEPROMs full of noise")))
}

fn starts_anew(setup: &Setup, eeprom: &[u8], how: &str) -> Result<(), Wrong> {
    let mut bench = boot(setup, eeprom, 1)?;
    let found = Remembered::of(&mut bench, setup.design);
    let first = found.show == 0 && found.places.iter().all(|place| *place == 0);
    let first = first && found.dimmed == 0;
    ensure(first, || {
        format!(
            "an EEPROM {how} starts show {}, places {:?}",
            found.show, found.places
        )
    })
}

/// A chip that starts with these contents of its EEPROM, at its first light; its switch is as it was when
/// that was saved.
fn boot<'a>(setup: &'a Setup<'a>, eeprom: &[u8], noise: u64) -> Result<Bench<'a>, Wrong> {
    let saved = Light::recalled(&setup.design.firmware, eeprom);
    let place = setup.design.firmware.state.place(Kept::Show);
    let show = saved
        .zip(place)
        .and_then(|(saved, place)| saved.get(place.0 as usize).copied());
    let start = Start {
        eeprom: eeprom.to_vec(),
        noise,
        switch: show == Some(1),
        ..Start::default()
    };
    let mut bench = setup.power_up(&start)?;
    bench.next_tick()?;
    Ok(bench)
}

/// A chip on which a tap changes what is remembered. `None`: there is none, or it forgets.
fn choosing<'a>(setup: &'a Setup<'a>) -> Result<Option<Rig<'a>>, Wrong> {
    let firmware = &setup.design.firmware;
    let remembers = setup.design.project.memory.is_some() && firmware.memory.is_some();
    if !remembers || !firmware.rules.taps() {
        return Ok(None);
    }
    let shows = &setup.design.deck.image.score.shows;
    // Where it does not move on by itself, if there is such a show.
    let rank = |(_, show): &(u8, &ShowRange)| (show.count < 2, show.kind == ShowKind::Roam);
    let show = (0..).zip(shows).min_by_key(rank);
    Rig::in_show(setup, show.map_or(0, |(index, _)| index))
}
