//! The processor's clock: what the chip can make of the wish.

use crate::chip::{Chip, Oscillator, Uncalibrated};
use crate::diagnostic::{Diagnostic, Notes, Span};
use crate::spec::{Clock, ClockSource, Project};
use crate::units::{Hertz, Share, Volts};

/// A crystal's error: 50 parts in a million is common (common practice, no source).
const CRYSTAL_ERROR: Share = Share(50e-6);

/// A clock that needs at least this supply is worth a word: three cells or a regulator may not give it.
const SPEAKING_OF: Volts = Volts(4.5);

/// Where the processor's clock comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockPlan {
    pub frequency: Hertz,
    pub source: ClockSource,
    /// What the source runs at before the prescaler.
    pub oscillator: Hertz,
    /// log2 of what the firmware divides the clock by before all else. `None`: the chip has no such
    /// prescaler.
    pub prescaler_bits: Option<u8>,
    /// How far off the frequency may be, either way.
    pub accuracy: Share,
    /// The oscillator runs on another frequency's calibration, unless the person writes its own in.
    pub uncalibrated: Option<&'static Uncalibrated>,
    /// The lowest supply the datasheet allows at this clock.
    pub least_supply: Volts,
}

/// The clock that a project gets. `None` after adding an error.
pub fn choose(chip: &'static Chip, project: &Project, notes: &mut Notes) -> Option<ClockPlan> {
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
    match found(chip, wish, span) {
        Err(diagnostic) => {
            notes.add(diagnostic);
            None
        }
        Ok(plan) => {
            if let Some(uncalibrated) = plan.uncalibrated {
                notes.add(off_until_calibrated(chip, &plan, uncalibrated, span));
            }
            // Where the supply is given, the board holds it against the clock (E012).
            if project.electrics.supply.is_none() {
                notes_on(&plan, span, notes);
            }
            Some(plan)
        }
    }
}

fn found(chip: &'static Chip, wish: Clock, span: Span) -> Result<ClockPlan, Diagnostic> {
    let least_supply = chip
        .volts_for(wish.frequency)
        .ok_or_else(|| too_fast(chip, wish, span))?;
    let Found {
        oscillator,
        divisor,
        accuracy,
        uncalibrated,
    } = match wish.source {
        ClockSource::Internal => internal(chip, wish.frequency).ok_or_else(|| {
            let message = format!("{} has no internal clock of {}", chip.title, wish.frequency);
            Diagnostic::error("C003", span, message)
                .label("expected a frequency it makes by itself")
                .hint(format!("it makes {}", internal_choices(chip)))
        })?,
        ClockSource::Crystal => crystal(chip, wish.frequency).ok_or_else(|| {
            let message = format!(
                "{} does not run from a crystal of {}",
                chip.title, wish.frequency
            );
            Diagnostic::error("C004", span, message)
                .label("expected a crystal within the chip's range")
                .hint(crystal_choices(chip))
        })?,
        ClockSource::External => Found::steady(wish.frequency, Share(0.0)),
    };
    Ok(ClockPlan {
        frequency: wish.frequency,
        source: wish.source,
        oscillator,
        prescaler_bits: chip
            .clocks
            .prescaler
            .then(|| divisor.trailing_zeros() as u8),
        accuracy,
        uncalibrated,
        least_supply,
    })
}

fn notes_on(plan: &ClockPlan, span: Span, notes: &mut Notes) {
    let supply = plan.least_supply;
    if supply >= SPEAKING_OF {
        let message = format!("{} needs a supply of at least {supply}", plan.frequency);
        notes.add(
            Diagnostic::caution("C005", span, message)
                .label("too fast for a lower supply")
                .hint("on less, use a slower clock; see the speed grades in the datasheet"),
        );
    }
}

/// Where a programmer's list of bytes is counted in words.
const ORDINALS: [&str; 4] = ["first", "second", "third", "fourth"];

fn off_until_calibrated(
    chip: &Chip,
    plan: &ClockPlan,
    uncalibrated: &Uncalibrated,
    span: Span,
) -> Diagnostic {
    let delivered = &chip.clocks.internal[chip.clocks.internal.len() - 1];
    let message = format!(
        "reset gives the {} its calibration for {}, not for {}",
        chip.title, delivered.hertz, plan.frequency
    );
    let which = ORDINALS[usize::from(uncalibrated.byte)];
    Diagnostic::caution("C019", span, message)
        .label(format!(
            "every time may be off by {}, and is judged so",
            uncalibrated.error
        ))
        .hint(format!(
            "`make calibration-read` shows the factory's bytes; build with the {which}: \
             `make flash OSCCAL=0x…`"
        ))
}

/// A source of the clock that is wanted.
struct Found {
    oscillator: Hertz,
    divisor: u16,
    accuracy: Share,
    uncalibrated: Option<&'static Uncalibrated>,
}

impl Found {
    /// One that nothing divides or calibrates.
    fn steady(oscillator: Hertz, accuracy: Share) -> Self {
        Self {
            oscillator,
            divisor: 1,
            accuracy,
            uncalibrated: None,
        }
    }
}

/// The first oscillator, divided, that gives this frequency: the factory's own comes first.
fn internal(chip: &'static Chip, wanted: Hertz) -> Option<Found> {
    let gives = |oscillator: &Oscillator, by: u16| oscillator.hertz.0 / f64::from(by);
    choices(chip)
        .find(|(oscillator, by)| (gives(oscillator, *by) / wanted.0 - 1.0).abs() < 1e-3)
        .map(|(oscillator, divisor)| {
            let uncalibrated = oscillator.uncalibrated.as_ref();
            Found {
                oscillator: oscillator.hertz,
                divisor,
                accuracy: uncalibrated.map_or(chip.electrical.oscillator_error, |byte| byte.error),
                uncalibrated,
            }
        })
}

/// Every internal clock: oscillator and divisor.
fn choices(chip: &Chip) -> impl Iterator<Item = (&Oscillator, u16)> {
    let divisors = if chip.clocks.prescaler { 9 } else { 1 };
    chip.clocks
        .internal
        .iter()
        .flat_map(move |oscillator| (0..divisors).map(move |log| (oscillator, 1 << log)))
}

/// The internal clocks fast enough to be of use, fastest first.
fn internal_choices(chip: &Chip) -> String {
    let mut hertz: Vec<f64> = choices(chip)
        .map(|(oscillator, by)| oscillator.hertz.0 / f64::from(by))
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
        .map(|_| Found::steady(wanted, CRYSTAL_ERROR))
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

fn too_fast(chip: &Chip, wish: Clock, span: Span) -> Diagnostic {
    let fastest = chip.speed[chip.speed.len() - 1].hertz;
    let message = format!("{} cannot run at {}", chip.title, wish.frequency);
    let hint = match wish.source {
        ClockSource::Internal => format!("by itself it makes {}", internal_choices(chip)),
        ClockSource::Crystal => crystal_choices(chip),
        ClockSource::External => format!("{fastest} is the most"),
    };
    Diagnostic::error("C002", span, message)
        .label(format!("expected at most {fastest}"))
        .hint(hint)
}
