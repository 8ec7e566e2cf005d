//! The PWM that was chosen beside the others that the timers could have: flicker, levels, the light at the LED.

use std::collections::BTreeSet;

use crate::board::{FlickerReport, Lamp, Risk, lamps, worst};
use crate::design::Design;
use crate::diagnostic::Spanned;
use crate::drive::timer::Mode;
use crate::spec::PwmMode;
use crate::units::{Hertz, Share};

/// A PWM that can be had.
struct Choice {
    mode: Mode,
    frequency: Hertz,
    /// `Err`: why not.
    found: Result<Found, String>,
}

/// What it comes to.
struct Found {
    bits: u8,
    slowest: Hertz,
    risk: Risk,
    /// Of the processor.
    interrupt: Share,
    distinct: usize,
    at_pin: f64,
    /// `None`: nothing is known of any LED's light.
    at_led: Option<f64>,
}

/// Fewer clocks a count than this share of one another are the same frequency.
const SAME: f64 = 1e-6;

/// Every one, the one in use marked.
pub(super) fn choices(design: &Design, lamps: &[Lamp]) -> String {
    let used = design.plan.drive.pwm();
    let mut text = format!(
        "  {:<27}{:>8}{:>13}{:>12}{:>11}{:>8}{:>10}{:>10}\n",
        "PWM", "depth", "slowest", "flicker", "interrupt", "levels", "at pin", "at LED"
    );
    for Choice {
        mode,
        frequency,
        found,
    } in all(design, lamps)
    {
        let is_used = mode == used.mode && is_same(frequency, used.frequency);
        let mark = if is_used { '>' } else { ' ' };
        let name = format!("{}, {frequency}", word(mode));
        text += &match found {
            Err(reason) => format!("{mark} {name:<27}  cannot be: {reason}\n"),
            Ok(found) => format!(
                "{mark} {name:<27}{:>8}{:>13}{:>12}{:>11}{:>8}{:>10}{:>10}\n",
                format!("{} bits", found.bits),
                found.slowest.to_string(),
                risk(found.risk),
                format!("{:.1} %", found.interrupt.0 * 100.0),
                found.distinct,
                format!("{:.2} L*", found.at_pin),
                found
                    .at_led
                    .map_or_else(|| "ideal".to_string(), |error| format!("{error:.2} L*")),
            ),
        };
    }
    let why = match design.project.pwm.frequency {
        Some(_) => "the nearest to the one asked for",
        None => "the fastest, with the least flicker and the most levels",
    };
    text + &format!(
        "\n  chosen: {why}.\n  A slower one has fewer and longer pulses, of which a slow switch spoils \
         less: `pwm: {{frequency: 4 kHz}}`.\n"
    )
}

fn word(mode: Mode) -> &'static str {
    match mode {
        Mode::Fast => "fast",
        Mode::PhaseCorrect => "phase-correct",
    }
}

fn risk(risk: Risk) -> &'static str {
    match risk {
        Risk::NoEffect => "no effect",
        Risk::Low => "low risk",
        Risk::High => "too much",
    }
}

fn is_same(one: Hertz, other: Hertz) -> bool {
    (one.0 / other.0 - 1.0).abs() < SAME
}

/// The fastest first.
fn all(design: &Design, lamps: &[Lamp]) -> Vec<Choice> {
    let plan = &design.plan;
    let timers = plan.chip.timers.iter();
    let prescalers: BTreeSet<u16> = timers
        .flat_map(|timer| timer.prescalers.keys().copied())
        .collect();
    let modes: &[Mode] = match design.project.pwm.mode.value {
        PwmMode::Auto => &[Mode::Fast, Mode::PhaseCorrect],
        PwmMode::Fast => &[Mode::Fast],
        PwmMode::PhaseCorrect => &[Mode::PhaseCorrect],
    };
    let offers = prescalers
        .into_iter()
        .flat_map(|prescaler| modes.iter().map(move |&mode| (mode, prescaler)))
        .map(|(mode, prescaler)| (mode, mode.frequency(plan.clock.frequency, prescaler)));
    let usable = offers.filter(|(_, frequency)| *frequency >= design.project.pwm.slowest.value);
    let mut all: Vec<Choice> = usable
        .filter_map(|(mode, frequency)| choice(design, lamps, mode, frequency))
        .collect();
    all.sort_by(|a, b| b.frequency.0.total_cmp(&a.frequency.0));
    all
}

/// `None`: the timers in use do not make it.
fn choice(design: &Design, lamps: &[Lamp], mode: Mode, frequency: Hertz) -> Option<Choice> {
    let used = design.plan.drive.pwm();
    let found = if mode == used.mode && is_same(frequency, used.frequency) {
        Ok(found(design, lamps))
    } else {
        match with(design, mode, frequency) {
            Ok(other) => {
                let made = other.plan.drive.pwm();
                if made.mode != mode || !is_same(made.frequency, frequency) {
                    return None;
                }
                Ok(found(&other, &self::lamps(&other)))
            }
            Err(reason) => Err(reason),
        }
    };
    Some(Choice {
        mode,
        frequency,
        found,
    })
}

/// The same project with another PWM.
fn with(design: &Design, mode: Mode, frequency: Hertz) -> Result<Design, String> {
    let mut project = design.project.clone();
    let mode = match mode {
        Mode::Fast => PwmMode::Fast,
        Mode::PhaseCorrect => PwmMode::PhaseCorrect,
    };
    project.pwm.mode = project.pwm.mode.map(|_| mode);
    project.pwm.frequency = Some(Spanned::new(frequency, project.pwm.mode.span));
    Design::new(project).map_err(|errors| {
        let first = errors.into_iter().next();
        first.map_or_else(String::new, |error| error.message)
    })
}

fn found(design: &Design, lamps: &[Lamp]) -> Found {
    let plan = &design.plan;
    let pwm = plan.drive.pwm();
    let channels = design.project.channels.len();
    let lit = design.circuit.flow(&vec![Share(1.0); channels]).pump;
    let cycles = f64::from(plan.drive.cost().cycles.0);
    let figures = &design.deck.light.figures;
    Found {
        bits: 8 + pwm.extra_bits,
        slowest: pwm.slowest,
        risk: FlickerReport::new(design, &design.circuit, lit).risk,
        interrupt: Share(cycles / f64::from(pwm.cycles().0)),
        distinct: figures.distinct,
        at_pin: figures.largest_error.0.0,
        at_led: worst(lamps).map(|lamp| lamp.error.typical.error.abs()),
    }
}
