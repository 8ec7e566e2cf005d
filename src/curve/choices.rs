//! The PWM that was chosen beside the others that the drive could have: flicker, levels, the light at the LED.

use serde::Serialize;

use crate::board::{Lamp, Risk, flicker_risk, lamps, worst};
use crate::design::Design;
use crate::drive::{Drive, Shape};
use crate::fit::pwm;
use crate::units::{DeltaLightness, Hertz, Share, rounded};

/// A PWM that can be had.
#[derive(Debug, Serialize)]
pub(super) struct Choice {
    mode: &'static str,
    frequency: Hertz,
    used: bool,
    #[serde(flatten)]
    outcome: Outcome,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "kebab-case")]
enum Outcome {
    Found(Found),
    /// Why it cannot be.
    Fault(String),
}

/// What it comes to; errors are those of the worst level.
#[derive(Debug, Serialize)]
struct Found {
    bits: u8,
    slowest: Hertz,
    flicker: Risk,
    /// Of the processor.
    interrupt: Share,
    distinct: usize,
    at_pin: DeltaLightness,
    /// `None`: nothing is known of any LED's light.
    at_led: Option<DeltaLightness>,
}

/// Fewer clocks a count than this share of one another are the same frequency.
const SAME: f64 = 1e-6;

/// Every one, the one in use marked.
pub(super) fn choices(design: &Design, lamps: &[Lamp]) -> String {
    let mut text = format!(
        "  {:<27}{:>8}{:>13}{:>12}{:>11}{:>8}{:>10}{:>10}\n",
        "PWM", "depth", "slowest", "flicker", "interrupt", "levels", "at pin", "at LED"
    );
    for Choice {
        mode,
        frequency,
        used,
        outcome,
    } in all(design, lamps)
    {
        let mark = if used { '>' } else { ' ' };
        let name = format!("{mode}, {frequency}");
        text += &match outcome {
            Outcome::Fault(reason) => format!("{mark} {name:<27}  cannot be: {reason}\n"),
            Outcome::Found(found) => format!(
                "{mark} {name:<27}{:>8}{:>13}{:>12}{:>11}{:>8}{:>10}{:>10}\n",
                format!("{} bits", found.bits),
                found.slowest.to_string(),
                risk(found.flicker),
                format!("{:.1} %", found.interrupt.0 * 100.0),
                found.distinct,
                found.at_pin.to_string(),
                found
                    .at_led
                    .map_or_else(|| "ideal".to_string(), |error| error.to_string()),
            ),
        };
    }
    let why = match (design.project.pwm.frequency, &design.plan.drive) {
        (Some(_), _) => "the nearest to the one asked for",
        (None, _) if design.slowed.is_some() => {
            "of those that flicker no more, the one that keeps the LEDs truest"
        }
        (None, Drive::Mixed(_)) => "the only one beside a port",
        (None, Drive::Timer(_)) => "the fastest, which has the most levels",
        (None, Drive::Port(_)) => "the deepest that is not too slow",
    };
    let other = match &design.plan.drive {
        Drive::Timer(_) => {
            "A slower one has fewer and longer pulses, of which a slow switch spoils less: \
             `pwm: {frequency: 4 kHz}`"
        }
        Drive::Port(_) | Drive::Mixed(_) => {
            "A faster one flickers less and has fewer levels: `pwm: {slowest: 3 kHz}`"
        }
    };
    let slowed = design.slowed.as_ref().map_or_else(String::new, |slowed| {
        format!(
            "; at {} they would be off by {}",
            slowed.from(),
            slowed.error
        )
    });
    text + &format!("\n  chosen: {why}{slowed}.\n  {other}.\n")
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
pub(super) fn all(design: &Design, lamps: &[Lamp]) -> Vec<Choice> {
    pwm::offers(design)
        .into_iter()
        .filter_map(|(shape, frequency)| choice(design, lamps, shape, frequency))
        .collect()
}

/// `None`: the timers in use do not make it.
fn choice(design: &Design, lamps: &[Lamp], shape: Shape, frequency: Hertz) -> Option<Choice> {
    let own = design.plan.drive.pwm();
    let used = shape == own.shape && is_same(frequency, own.frequency);
    let outcome = if used {
        Outcome::Found(found(design, lamps))
    } else {
        match Design::new(pwm::asking(&design.project, shape, frequency)) {
            Ok(other) => {
                let made = other.plan.drive.pwm();
                if made.shape != shape || !is_same(made.frequency, frequency) {
                    return None;
                }
                Outcome::Found(found(&other, &self::lamps(&other)))
            }
            Err(errors) => {
                let first = errors.into_iter().next();
                Outcome::Fault(first.map_or_else(String::new, |error| error.message))
            }
        }
    };
    Some(Choice {
        mode: shape.word(),
        frequency: Hertz(rounded(frequency.0, 1e3)),
        used,
        outcome,
    })
}

fn found(design: &Design, lamps: &[Lamp]) -> Found {
    let plan = &design.plan;
    let pwm = plan.drive.pwm();
    let figures = &design.deck.light.figures;
    Found {
        bits: pwm.bits(),
        slowest: Hertz(rounded(pwm.slowest.0, 1e3)),
        flicker: flicker_risk(design),
        interrupt: Share(rounded(plan.drive.cost().share(pwm.cycles()), 1e4)),
        distinct: figures.distinct,
        at_pin: DeltaLightness(rounded(figures.largest_error.0.0, 1e6)),
        at_led: worst(lamps)
            .map(|lamp| DeltaLightness(rounded(lamp.error.typical.error.abs(), 1e6))),
    }
}
