//! Fuse bytes for the clock, the brown-out level and the pins that were chosen. All else stays as
//! delivered.

use std::collections::BTreeMap;

use crate::chip::{BrownOut, Chip, CrystalRange, FuseBits, FuseByte, is_brown_out_fuse};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{ClockSource, Project, Rail};
use crate::target::{Claims, ClockPlan, FusePlan};
use crate::units::Volts;

/// Below this, a programmer at its usual speed is too fast for the chip (common practice, no source:
/// the serial clock must stay under a quarter of the chip's, and 125 kHz to 1 MHz is usual).
const SLOW: f64 = 500e3;

/// Bits wanted in a byte, and why.
#[derive(Default)]
struct FuseWish {
    mask: u8,
    bits: u8,
    reasons: Vec<String>,
}

pub(in crate::target) fn choose(
    chip: &'static Chip,
    project: &Project,
    clock: &ClockPlan,
    brown_out: Option<&BrownOut>,
    claims: &Claims,
    notes: &mut Notes,
) -> Vec<FusePlan> {
    let mut wanted = for_clock(chip, clock, swings_high(project));
    free_debug_pins(chip, claims, &mut wanted, notes);
    let must_change = chip
        .fuses
        .iter()
        .any(|byte| plan(byte, &wanted).must_change());
    watch_supply(chip, brown_out, &mut wanted);
    let plans: Vec<FusePlan> = chip.fuses.iter().map(|byte| plan(byte, &wanted)).collect();

    let span = project.clock.map_or(project.chip.span, |clock| clock.span);
    if let Some(why) = &chip.fuses_vary {
        let message = format!("the fuses of a new {} are not certain", chip.title);
        notes.add(
            Diagnostic::caution("C008", span, message)
                .label(format!("chips are {why}"))
                .hint(format!("program them: {}", listed(plans.iter()))),
        );
    } else if must_change {
        let message = format!("{} needs other fuses than a new chip has", clock.frequency);
        notes.add(
            Diagnostic::caution("C006", span, message)
                .label(source(clock))
                .hint(format!(
                    "program {}, as `duskloom wiring` shows",
                    listed(plans.iter().filter(|plan| plan.must_change()))
                )),
        );
    }
    if clock.source == ClockSource::Internal && clock.oscillator.0 < SLOW {
        let message = format!("at {} the programmer must be slowed down", clock.oscillator);
        notes.add(
            Diagnostic::caution("C007", span, message)
                .label("slower than usual programmers expect")
                .hint(
                    "avrdude's `-B` sets the bit time in microseconds: four clock periods or more",
                ),
        );
    }
    plans
}

fn plan(byte: &'static FuseByte, wanted: &BTreeMap<&str, FuseWish>) -> FusePlan {
    let nothing = FuseWish::default();
    let wanted = wanted.get(byte.name.as_str()).unwrap_or(&nothing);
    let value = byte.factory & !wanted.mask | wanted.bits & wanted.mask;
    let mut reasons = wanted.reasons.clone();
    if value == byte.factory {
        reasons.insert(0, "as delivered".to_string());
    }
    FusePlan {
        name: &byte.name,
        memory: byte.memory(),
        value,
        factory: byte.factory,
        reason: reasons.join(", "),
    }
}

/// Loads of more than this nearby disturb a crystal whose oscillator takes little current (common practice,
/// no source; the datasheets, 'Full Swing Crystal Oscillator': 'useful in noisy environments').
const NOISY: Volts = Volts(5.0);

/// Whether something of a higher voltage is switched next to the chip: strings before the regulator, or on
/// the pump, each of whose stages adds the supply at most.
fn swings_high(project: &Project) -> bool {
    let electrics = &project.electrics;
    let supply = electrics.supply.as_ref();
    let volts = |rail: Rail| match rail {
        Rail::Supply => supply.map(|supply| supply.volts.value.0),
        Rail::Input => supply
            .and_then(|supply| supply.regulator.as_ref())
            .map(|regulator| regulator.input.1.0),
        Rail::Pump => supply
            .zip(electrics.pump.as_ref())
            .map(|(supply, pump)| supply.volts.value.0 * f64::from(1 + pump.stages)),
    };
    let mut strings = electrics.strings.iter().flatten();
    strings.any(|string| volts(string.from.value).is_some_and(|volts| volts > NOISY.0))
}

fn for_clock(
    chip: &'static Chip,
    clock: &ClockPlan,
    noisy: bool,
) -> BTreeMap<&'static str, FuseWish> {
    let (bits, reason) = clock_bits(chip, clock, noisy);
    let wanted = |(byte, [mask, bits]): (&'static String, &[u8; 2])| {
        (
            byte.as_str(),
            FuseWish {
                mask: *mask,
                bits: *bits,
                reasons: vec![reason.clone()],
            },
        )
    };
    bits.iter().map(wanted).collect()
}

/// The bits, and why.
fn clock_bits(chip: &'static Chip, clock: &ClockPlan, noisy: bool) -> (&'static FuseBits, String) {
    let clocks = &chip.clocks;
    let in_range =
        |range: &&CrystalRange| range.from <= clock.oscillator && clock.oscillator <= range.to;
    let crystal = clocks.crystal.iter().find(in_range);
    let steadier = crystal.and_then(|range| range.full_swing.as_ref());
    if let Some(bits) = steadier.filter(|_| noisy && clock.source == ClockSource::Crystal) {
        let reason = format!(
            "{} at full swing, as more than {NOISY} are switched nearby",
            source(clock)
        );
        return (bits, reason);
    }
    let found = match clock.source {
        ClockSource::External => Some(&clocks.external),
        ClockSource::Internal => clocks
            .internal
            .iter()
            .find(|oscillator| oscillator.hertz == clock.oscillator)
            .map(|oscillator| &oscillator.fuses),
        ClockSource::Crystal => crystal.map(|range| &range.fuses),
    };
    let bits = found.expect("the clock was chosen among these");
    (bits, source(clock))
}

/// Sets the brown-out detector.
fn watch_supply(
    chip: &'static Chip,
    level: Option<&BrownOut>,
    wanted: &mut BTreeMap<&'static str, FuseWish>,
) {
    let programmed = |name: &String| level.is_some_and(|level| level.programmed.contains(name));
    for byte in &chip.fuses {
        let named = (0..).zip(&byte.bits);
        let of_detector = named
            .filter_map(|(bit, name)| Some((bit, name.as_ref().filter(|n| is_brown_out_fuse(n))?)));
        let (mut mask, mut bits) = (0, 0);
        for (bit, name) in of_detector {
            mask |= 1 << bit;
            bits |= u8::from(!programmed(name)) << bit;
        }
        if mask == 0 || level.is_none() && byte.factory & mask == bits {
            continue;
        }
        let entry = wanted.entry(&byte.name).or_default();
        entry.mask |= mask;
        entry.bits |= bits;
        entry.reasons.push(match level {
            Some(level) => format!(
                "reset below {}, so that a weak supply spoils nothing",
                level.volts
            ),
            None => "no reset on a weak supply".to_string(),
        });
    }
}

/// Unprograms the fuse that keeps pins for a debugger, when the project uses one of them.
fn free_debug_pins(
    chip: &'static Chip,
    claims: &Claims,
    wanted: &mut BTreeMap<&'static str, FuseWish>,
    notes: &mut Notes,
) {
    let Some(debugging) = &chip.debugging else {
        return;
    };
    let Some((pin, span)) = claims.taken_of(&debugging.pins) else {
        return;
    };
    let holds = |byte: &&FuseByte| byte.bit(&debugging.fuse).is_some();
    let Some(byte) = chip.fuses.iter().find(holds) else {
        return;
    };
    let mask = 1 << byte.bit(&debugging.fuse).expect("just found");
    let entry = wanted.entry(&byte.name).or_default();
    entry.mask |= mask;
    entry.bits |= mask;
    entry.reasons.push(format!(
        "{} unprogrammed, which frees {pin}",
        debugging.fuse
    ));
    let message = format!("a new {} keeps {pin} for a debugger", chip.title);
    notes.add(
        Diagnostic::caution("C017", span, message)
            .label(format!(
                "free once the fuse {} is unprogrammed",
                debugging.fuse
            ))
            .hint("program the fuses as planned, or use another pin"),
    );
}

/// `lfuse 0xE4, hfuse 0xD9`.
fn listed<'a>(plans: impl Iterator<Item = &'a FusePlan>) -> String {
    let names: Vec<String> = plans
        .map(|plan| format!("{} 0x{:02X}", plan.memory, plan.value))
        .collect();
    names.join(", ")
}

fn source(clock: &ClockPlan) -> String {
    match clock.source {
        ClockSource::Internal => format!("internal oscillator of {}", clock.oscillator),
        ClockSource::Crystal => format!("crystal of {}", clock.oscillator),
        ClockSource::External => format!("external clock of {}", clock.oscillator),
    }
}
