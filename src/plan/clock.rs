//! The processor's clock: what the chip can make of the wish.

use super::{ClockPlan, Notes, caution, error};
use crate::chip::Chip;
use crate::diagnostic::Span;
use crate::spec::{Clock, ClockSource, Project};
use crate::units::{Hertz, Share};

/// A crystal's error: 50 parts in a million is common (common practice, no source).
const CRYSTAL_ERROR: Share = Share(50e-6);

/// `None` after adding an error.
pub(super) fn choose(chip: &Chip, project: &Project, notes: &mut Notes) -> Option<ClockPlan> {
    let (wish, span) = match project.clock {
        Some(clock) => (clock.value, clock.span),
        None => {
            let frequency = chip.clocks.internal[0].hertz;
            (
                Clock {
                    frequency,
                    source: ClockSource::Internal,
                },
                project.chip.span,
            )
        }
    };
    let Some(least_supply) = chip.volts_for(wish.frequency) else {
        notes.add(too_fast(chip, wish, span));
        return None;
    };
    let found = match wish.source {
        ClockSource::Internal => internal(chip, wish.frequency).ok_or_else(|| {
            let message = format!("{} has no internal clock of {}", chip.title, wish.frequency);
            error(
                "C003",
                span,
                message,
                "expected a frequency it makes by itself",
            )
            .with_hint(format!("it makes {}", internal_choices(chip)))
        }),
        ClockSource::Crystal => crystal(chip, wish.frequency).ok_or_else(|| {
            let message = format!(
                "{} does not run from a {} crystal",
                chip.title, wish.frequency
            );
            error(
                "C004",
                span,
                message,
                "expected a crystal within the chip's range",
            )
            .with_hint(crystal_choices(chip))
        }),
        ClockSource::External => Ok((wish.frequency, Some(1), Share(0.0))),
    };
    match found {
        Err(diagnostic) => {
            notes.add(diagnostic);
            None
        }
        Ok((oscillator, divisor, accuracy)) => {
            if least_supply.0 >= 4.5 {
                let message = format!(
                    "{} needs a supply of at least {least_supply}",
                    wish.frequency
                );
                notes.add(
                    caution("C005", span, message, "too fast for a lower supply")
                        .with_hint("see the speed grades in the chip's datasheet"),
                );
            }
            let prescaler_bits = divisor.filter(|&by| chip.clocks.prescaler && writes(chip, by));
            Some(ClockPlan {
                frequency: wish.frequency,
                source: wish.source,
                oscillator,
                prescaler_bits: prescaler_bits.map(|by| by.trailing_zeros() as u8),
                accuracy,
                least_supply,
            })
        }
    }
}

/// Whether the firmware must set the prescaler itself to divide by this.
fn writes(chip: &Chip, divisor: u16) -> bool {
    let at_start = if chip.clocks.starts_divided { 8 } else { 1 };
    divisor != at_start
}

type Found = (Hertz, Option<u16>, Share);

/// The first oscillator, divided, that gives this frequency: the factory's own comes first.
fn internal(chip: &Chip, wanted: Hertz) -> Option<Found> {
    let accuracy = chip.electrical.oscillator_error;
    choices(chip)
        .find(|(hertz, by)| (hertz.0 / f64::from(*by) / wanted.0 - 1.0).abs() < 1e-3)
        .map(|(hertz, by)| (hertz, Some(by), accuracy))
}

/// Every internal clock: oscillator and divisor.
fn choices(chip: &Chip) -> impl Iterator<Item = (Hertz, u16)> {
    let divisors = if chip.clocks.prescaler { 9 } else { 1 };
    chip.clocks
        .internal
        .iter()
        .flat_map(move |oscillator| (0..divisors).map(|log| (oscillator.hertz, 1 << log)))
}

/// The internal clocks fast enough to be of use, fastest first.
fn internal_choices(chip: &Chip) -> String {
    let mut hertz: Vec<f64> = choices(chip)
        .map(|(oscillator, by)| oscillator.0 / f64::from(by))
        .filter(|&hertz| hertz >= 125_000.0 && chip.volts_for(Hertz(hertz)).is_some())
        .collect();
    hertz.sort_by(|a, b| b.total_cmp(a));
    hertz.dedup();
    let names: Vec<String> = hertz
        .iter()
        .map(|&hertz| Hertz(hertz).to_string())
        .collect();
    names.join(", ")
}

fn crystal(chip: &Chip, wanted: Hertz) -> Option<Found> {
    let fits = |range: &&crate::chip::CrystalRange| range.from <= wanted && wanted <= range.to;
    chip.clocks
        .crystal
        .iter()
        .find(fits)
        .map(|_| (wanted, Some(1), CRYSTAL_ERROR))
}

fn crystal_choices(chip: &Chip) -> String {
    match (chip.clocks.crystal.first(), chip.clocks.crystal.last()) {
        (Some(first), Some(last)) => {
            format!("crystals from {} to {} work", first.from, last.to)
        }
        _ => format!(
            "it has no crystal oscillator; it makes {} by itself",
            internal_choices(chip)
        ),
    }
}

fn too_fast(chip: &Chip, wish: Clock, span: Span) -> crate::diagnostic::Diagnostic {
    let fastest = chip
        .speed
        .iter()
        .map(|grade| grade.hertz.0)
        .fold(0.0, f64::max);
    let message = format!("{} cannot run at {}", chip.title, wish.frequency);
    let label = format!("expected at most {}", Hertz(fastest));
    let hint = match wish.source {
        ClockSource::Internal => format!("by itself it makes {}", internal_choices(chip)),
        _ => format!(
            "{} is the most, at {} or more",
            Hertz(fastest),
            chip.speed
                .last()
                .map_or(crate::units::Volts(5.0), |grade| grade.volts)
        ),
    };
    error("C002", span, message, &label).with_hint(hint)
}
