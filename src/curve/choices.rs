//! The PWM that was chosen beside the others that the drive could have: flicker, levels, the light at the LED.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::board::{FlickerReport, Lamp, Risk, lamps, worst};
use crate::design::Design;
use crate::diagnostic::Spanned;
use crate::drive::port::{Planes, PortDrive};
use crate::drive::timer::Mode;
use crate::drive::{Drive, Shape};
use crate::spec::PwmMode;
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
        (None, Drive::Timer(_)) => "the fastest, which has the most levels",
        (None, Drive::Port(_)) => "the deepest that is not too slow",
    };
    let other = match &design.plan.drive {
        Drive::Timer(_) => {
            "A slower one has fewer and longer pulses, of which a slow switch spoils less: \
             `pwm: {frequency: 4 kHz}`"
        }
        Drive::Port(_) => {
            "A faster one flickers less and has fewer levels: `pwm: {slowest: 3 kHz}`"
        }
    };
    text + &format!("\n  chosen: {why}.\n  {other}.\n")
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
    let offers = match &design.plan.drive {
        Drive::Timer(_) => of_timers(design),
        Drive::Port(port) => of_planes(design, port),
    };
    let usable = (offers.into_iter())
        .filter(|(_, frequency)| *frequency >= design.project.pwm.slowest.value);
    let mut all: Vec<Choice> = usable
        .filter_map(|(shape, frequency)| choice(design, lamps, shape, frequency))
        .collect();
    all.sort_by(|a, b| b.frequency.0.total_cmp(&a.frequency.0));
    all
}

/// What fewer planes would do.
fn of_planes(design: &Design, port: &PortDrive) -> Vec<(Shape, Hertz)> {
    let clock = design.plan.clock.frequency.0;
    let offers = Planes::depths(port.planes.ports);
    offers
        .map(|planes| (Shape::BitAngle, Hertz(clock / f64::from(planes.frame().0))))
        .collect()
}

fn of_timers(design: &Design) -> Vec<(Shape, Hertz)> {
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
        .map(|(mode, prescaler)| {
            let frequency = mode.frequency(plan.clock.frequency, prescaler);
            (Shape::Pulse(mode), frequency)
        });
    offers.collect()
}

/// `None`: the timers in use do not make it.
fn choice(design: &Design, lamps: &[Lamp], shape: Shape, frequency: Hertz) -> Option<Choice> {
    let own = design.plan.drive.pwm();
    let used = shape == own.shape && is_same(frequency, own.frequency);
    let outcome = if used {
        Outcome::Found(found(design, lamps))
    } else {
        match with(design, shape, frequency) {
            Ok(other) => {
                let made = other.plan.drive.pwm();
                if made.shape != shape || !is_same(made.frequency, frequency) {
                    return None;
                }
                Outcome::Found(found(&other, &self::lamps(&other)))
            }
            Err(reason) => Outcome::Fault(reason),
        }
    };
    Some(Choice {
        mode: shape.word(),
        frequency: Hertz(rounded(frequency.0, 1e3)),
        used,
        outcome,
    })
}

/// The same project with another PWM.
fn with(design: &Design, shape: Shape, frequency: Hertz) -> Result<Design, String> {
    let mut project = design.project.clone();
    let mode = match shape {
        Shape::Pulse(Mode::Fast) => PwmMode::Fast,
        Shape::Pulse(Mode::PhaseCorrect) => PwmMode::PhaseCorrect,
        Shape::BitAngle => PwmMode::Auto,
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
    let figures = &design.deck.light.figures;
    Found {
        bits: pwm.bits(),
        slowest: Hertz(rounded(pwm.slowest.0, 1e3)),
        flicker: FlickerReport::new(design, &design.circuit, lit).risk,
        interrupt: Share(rounded(plan.drive.cost().share(pwm.cycles()), 1e4)),
        distinct: figures.distinct,
        at_pin: DeltaLightness(rounded(figures.largest_error.0.0, 1e6)),
        at_led: worst(lamps)
            .map(|lamp| DeltaLightness(rounded(lamp.error.typical.error.abs(), 1e6))),
    }
}
