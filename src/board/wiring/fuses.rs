//! The fuse bytes, bit by bit.

use serde::Serialize;

use crate::chip::FuseMeaning;
use crate::plan::Plan;
use crate::spec::ClockSource;
use crate::target::FusePlan;

/// A fuse byte to program.
#[derive(Debug, Clone, Serialize)]
pub struct FuseCard {
    /// avrdude's name: `lfuse`.
    pub memory: &'static str,
    pub value: u8,
    pub factory: u8,
    pub reason: String,
    /// Highest bit first; unused ones are left out.
    pub bits: Vec<FuseBit>,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FuseBit {
    pub number: u8,
    pub name: String,
    /// A programmed fuse reads 0.
    pub programmed: bool,
    /// The delivered chip has it otherwise.
    pub changed: bool,
    pub does: String,
    /// As it is set, an ordinary programmer no longer reaches the chip.
    pub locks_out: bool,
}

pub(super) fn cards(plan: &Plan) -> Vec<FuseCard> {
    plan.fuses.iter().map(|fuse| card(plan, fuse)).collect()
}

fn card(plan: &Plan, fuse: &FusePlan) -> FuseCard {
    let byte = plan.chip.fuses.iter().find(|byte| byte.name == fuse.name);
    let names = byte
        .map(|byte| &byte.bits)
        .into_iter()
        .flatten()
        .enumerate();
    let mut bits: Vec<FuseBit> = names
        .filter_map(|(number, name)| Some((number as u8, name.as_ref()?)))
        .map(|(number, name)| bit(number, name, fuse))
        .collect();
    bits.reverse();
    FuseCard {
        memory: fuse.memory,
        value: fuse.value,
        factory: fuse.factory,
        reason: fuse.reason.clone(),
        bits,
    }
}

fn bit(number: u8, name: &str, fuse: &FusePlan) -> FuseBit {
    let programmed = fuse.value >> number & 1 == 0;
    let meaning = FuseMeaning::of(name);
    FuseBit {
        number,
        name: name.to_string(),
        programmed,
        changed: (fuse.value ^ fuse.factory) >> number & 1 == 1,
        does: meaning.map_or(String::new(), |meaning| meaning.does.clone()),
        locks_out: meaning.is_some_and(|meaning| meaning.locks_out_at(programmed)),
    }
}

/// Programs those that must change; all, where the delivered ones are not certain.
pub(super) fn command(plan: &Plan) -> Option<String> {
    let writes: Vec<String> = plan
        .fuses_to_write()
        .map(|fuse| format!("-U {}:w:0x{:02X}:m", fuse.memory, fuse.value))
        .collect();
    let part = &plan.chip.avrdude;
    (!writes.is_empty()).then(|| {
        let bit = plan.bit_time.0.div_ceil(1_000);
        format!(
            "avrdude -c PROGRAMMER -p {part} -B {bit} {}",
            writes.join(" ")
        )
    })
}

pub(super) fn warnings(plan: &Plan, cards: &[FuseCard]) -> Vec<String> {
    let locks =
        cards.iter().flat_map(|card| {
            card.bits.iter().filter(|bit| bit.locks_out).map(|bit| {
            let state = if bit.programmed { "programmed" } else { "unprogrammed" };
            format!(
                "{} {state} ({}) SHUTS OUT an ordinary programmer: only high-voltage programming \
                 brings the chip back",
                bit.name, bit.does
            )
        })
        });
    let mut warnings: Vec<String> = locks.collect();
    if plan.needs_fuses() {
        warnings.push(
            "read the chip's own with `-U lfuse:r:-:h` and compare each bit with the datasheet; a \
             wrong one can shut the programmer out"
                .into(),
        );
    }
    let what = match plan.clock.source {
        ClockSource::Internal => return warnings,
        ClockSource::Crystal => "the crystal is fitted and swings",
        ClockSource::External => "the clock signal is there",
    };
    warnings.push(format!(
        "once they are written, the chip answers the programmer only while {what}"
    ));
    warnings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::chip;

    fn as_delivered(chip: &chip::Chip) -> Vec<FusePlan> {
        chip.fuses
            .iter()
            .map(|byte| FusePlan {
                name: byte.name.as_str().to_string().leak(),
                memory: byte.memory(),
                value: byte.factory,
                factory: byte.factory,
                reason: String::new(),
            })
            .collect()
    }

    fn bits(chip: &chip::Chip, fuses: &[FusePlan]) -> Vec<FuseBit> {
        let named = fuses.iter().zip(&chip.fuses);
        named
            .flat_map(|(fuse, byte)| {
                byte.bits
                    .iter()
                    .enumerate()
                    .filter_map(move |(number, name)| Some(bit(number as u8, name.as_ref()?, fuse)))
            })
            .collect()
    }

    #[test]
    fn every_bit_of_every_chip_is_explained_and_none_delivered_locks_out() {
        for chip in chip::all() {
            for bit in bits(chip, &as_delivered(chip)) {
                assert!(!bit.does.is_empty(), "{} {}", chip.name, bit.name);
                assert!(!bit.locks_out && !bit.changed, "{} {}", chip.name, bit.name);
            }
        }
    }

    /// Datasheets, 'Memory Programming': serial programming needs the reset pin and SPIEN.
    #[test]
    fn the_bits_that_lock_out_are_known() {
        for chip in chip::all() {
            let mut fuses = as_delivered(chip);
            for fuse in &mut fuses {
                fuse.value = !fuse.value;
            }
            let locking: Vec<String> = bits(chip, &fuses)
                .into_iter()
                .filter(|bit| bit.locks_out)
                .map(|bit| bit.name)
                .collect();
            assert!(locking.contains(&"SPIEN".to_string()), "{}", chip.name);
            let pin = locking
                .iter()
                .any(|name| name == "RSTDISBL" || name == "DWEN");
            assert!(
                pin || chip.name == "atmega32u4",
                "{}: {locking:?}",
                chip.name
            );
        }
    }
}
