//! Fuse bytes for the clock that was chosen. All else stays as delivered.

use super::{ClockPlan, FusePlan};
use crate::chip::{Chip, FuseBits};
use crate::spec::ClockSource;

pub(super) fn choose(chip: &'static Chip, clock: &ClockPlan) -> Vec<FusePlan> {
    let wanted = bits(chip, clock);
    let plan = |byte: &'static crate::chip::FuseByte| {
        let [mask, bits] = wanted.get(&byte.name).copied().unwrap_or([0, 0]);
        let value = byte.factory & !mask | bits & mask;
        let reason = match (mask, value == byte.factory) {
            (0, _) => "as delivered".to_string(),
            (_, true) => format!("as delivered: {}", source(clock)),
            (_, false) => source(clock),
        };
        FusePlan {
            name: &byte.name,
            memory: byte.memory(),
            value,
            factory: byte.factory,
            reason,
        }
    };
    chip.fuses.iter().map(plan).collect()
}

fn bits(chip: &'static Chip, clock: &ClockPlan) -> &'static FuseBits {
    let clocks = &chip.clocks;
    let found = match clock.source {
        ClockSource::External => Some(&clocks.external),
        ClockSource::Internal => clocks
            .internal
            .iter()
            .find(|oscillator| oscillator.hertz == clock.oscillator)
            .map(|oscillator| &oscillator.fuses),
        ClockSource::Crystal => clocks
            .crystal
            .iter()
            .find(|range| range.from <= clock.oscillator && clock.oscillator <= range.to)
            .map(|range| &range.fuses),
    };
    found.expect("the clock was chosen among these")
}

fn source(clock: &ClockPlan) -> String {
    match clock.source {
        ClockSource::Internal => format!("internal oscillator of {}", clock.oscillator),
        ClockSource::Crystal => format!("crystal of {}", clock.oscillator),
        ClockSource::External => format!("external clock of {}", clock.oscillator),
    }
}
