//! The light as it leaves the LED: what a slow switch, and a pump that droops, make of every level.
//!
//! ```text
//! Design, a string ─trial→ Trial ─levels→ L* by level ─→ Lamp
//!                            └─remedy: other strings, tried likewise
//! ```

mod levels;
mod remedy;
mod trial;

use serde::Serialize;

use crate::circuit::switch::{Family, entries};
use crate::design::Design;
use crate::spec::{LedString, Switch, Transistor};
use crate::units::{DeltaLightness, Farads, Level, Lightness, Ohms, Seconds};

pub use remedy::Remedy;
use trial::Trial;

/// Errors up to this are not seen, or hardly, in L*.
pub(super) const ALLOWED: f64 = 1.0;
/// With a part of half, or of one and a half times, the typical storage time.
pub(super) const ALLOWED_OVER_STORAGE: f64 = 2.0;

/// A channel of whose light at the LED something is known.
#[derive(Debug, Clone, Serialize)]
pub struct Lamp {
    pub channel: usize,
    pub switch: Known,
    /// The shortest pulse that gives light.
    pub least_pulse: Seconds,
    #[serde(flatten)]
    pub light: Shown,
    pub error: LampError,
    /// Lit levels that are no brighter than the one below, although their pulses are longer.
    pub not_rising: usize,
    /// What it loses at full light when all else on its pump is lit. `None`: it shares none.
    pub crosstalk: Option<DeltaLightness>,
    /// The smallest change that brings the error to what is hardly seen; `None`: it is there, or none
    /// that is known does.
    pub remedy: Option<Remedy>,
}

/// What an LED shows, by level.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Shown {
    /// With a part that is typical.
    pub typical: Vec<Lightness>,
    /// With half of the typical storage time, and with one and a half times it. `None`: it stores nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub over_storage: Option<[Vec<Lightness>; 2]>,
}

/// What is known of a switch.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// Its name.
    Named(String),
    /// Figures of its datasheet.
    Sheet,
    /// The pin itself.
    Pin,
    /// Nothing: what is known is its rail.
    Ideal,
}

/// How far a channel's levels are from what they should be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LampError {
    pub typical: Off,
    /// With half of the typical storage time, and with one and a half times it.
    pub over_storage: [Off; 2],
}

/// How far the worst level is from what it should be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Off {
    /// In L*; above zero: too bright.
    pub error: f64,
    pub level: Level,
}

/// What an ordinary part would make of a channel whose switch is not known.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Guess {
    pub channel: usize,
    /// As a project writes it.
    pub part: String,
    pub typical: Off,
}

/// All channels of whose light at the LED something is known.
pub fn lamps(design: &Design) -> Vec<Lamp> {
    strings(design)
        .filter_map(|(channel, wanted)| lamp(design, channel, wanted))
        .collect()
}

/// The error of the LED that is furthest off, as its worst level is. `None`: of no LED's light anything is
/// known.
pub fn light_error(design: &Design) -> Option<LampError> {
    let errors = strings(design).filter_map(|(channel, wanted)| {
        let trial = Trial::of_project(design, channel, wanted)?;
        trial.switching?;
        Some(trial.error_of(&trial.shown()))
    });
    errors.max_by(|a, b| a.strain().total_cmp(&b.strain()))
}

/// Names of the channels with a string whose switch is taken as ideal.
pub fn ideal(design: &Design) -> Vec<&str> {
    strings(design)
        .filter(|(channel, wanted)| {
            let trial = Trial::of_project(design, *channel, wanted);
            trial.is_none_or(|trial| trial.switching.is_none())
        })
        .map(|(channel, _)| design.project.channels[channel].name.value.as_str())
        .collect()
}

/// What ordinary parts would make of the channels whose switch is not known.
pub(super) fn guesses(design: &Design) -> Vec<Guess> {
    strings(design)
        .filter_map(|(channel, wanted)| guess(design, channel, wanted))
        .collect()
}

/// The one whose worst level is furthest off.
pub fn worst(lamps: &[Lamp]) -> Option<&Lamp> {
    let size = |lamp: &Lamp| lamp.error.typical.error.abs();
    lamps.iter().max_by(|a, b| size(a).total_cmp(&size(b)))
}

/// Those that are dimmed: one that is on or off has no level that could be wrong.
fn strings(design: &Design) -> impl Iterator<Item = (usize, &LedString)> {
    let strings = design.project.electrics.strings.iter().enumerate();
    let dimmed = strings.filter(|(channel, _)| !design.deck.plain[*channel]);
    dimmed.filter_map(|(channel, wanted)| Some((channel, wanted.as_ref()?)))
}

fn lamp(design: &Design, channel: usize, wanted: &LedString) -> Option<Lamp> {
    let trial = Trial::of_project(design, channel, wanted)?;
    if trial.switching.is_none() && !trial.is_pumped() {
        return None;
    }
    let light = trial.shown();
    let error = trial.error_of(&light);
    let seen = error.is_seen() || trial.crosstalk().is_some_and(|lost| lost.0 > ALLOWED);
    Some(Lamp {
        channel,
        switch: known(wanted, &trial),
        least_pulse: trial
            .switching
            .map_or(Seconds(0.0), |switching| switching.least_pulse()),
        not_rising: not_rising(design, channel, &light.typical),
        error,
        crosstalk: trial.crosstalk(),
        remedy: seen.then(|| remedy(design, channel, wanted)).flatten(),
        light,
    })
}

/// A project that is mended has the fastest PWM again, so that is what changes are tried with.
fn remedy(design: &Design, channel: usize, wanted: &LedString) -> Option<Remedy> {
    let trial = Trial::of_project(design.fastest(), channel, wanted)?;
    remedy::remedy(&trial)
}

fn not_rising(design: &Design, channel: usize, light: &[Lightness]) -> usize {
    let duty = |level: usize| design.deck.duty(channel, Level(level as u8));
    let steps = (2..light.len()).filter(|&level| duty(level) > duty(level - 1));
    steps
        .filter(|&level| light[level].0 <= light[level - 1].0 + 1e-9)
        .count()
}

fn known(wanted: &LedString, trial: &Trial) -> Known {
    match (&wanted.transistor, wanted.switch.value) {
        _ if trial.switching.is_none() => Known::Ideal,
        (_, Switch::Pin) => Known::Pin,
        (Some(transistor), _) => match &transistor.value {
            Transistor::Named(name) => Known::Named(name.clone()),
            Transistor::Sheet(_) => Known::Sheet,
        },
        (None, _) => Known::Ideal,
    }
}

/// What an ordinary LED on a pin has (from memory).
const ORDINARY_LED: Farads = Farads(30e-12);
/// Of a logic-level MOSFET of which nothing is said.
const ORDINARY_MOSFET: Ohms = Ohms(0.1);

/// `None`: its switch is known, or its rail cannot light it.
fn guess(design: &Design, channel: usize, wanted: &LedString) -> Option<Guess> {
    if Trial::of_project(design, channel, wanted)?
        .switching
        .is_some()
    {
        return None;
    }
    let mut ordinary = wanted.clone();
    let part = match wanted.switch.value {
        Switch::Pin => {
            ordinary.capacitance = Some(ORDINARY_LED);
            format!("capacitance: {ORDINARY_LED}")
        }
        kind => {
            let name = ordinary_part(kind, wanted.on_resistance);
            ordinary.transistor = Some(wanted.switch.map(|_| Transistor::Named(name.to_string())));
            format!("transistor: {name}")
        }
    };
    let trial = Trial::new(design, channel, &ordinary)?;
    Some(Guess {
        channel,
        part,
        typical: trial.error_of(&trial.shown()).typical,
    })
}

/// The catalogue's first NPN, or its MOSFET of about this resistance.
fn ordinary_part(kind: Switch, resistance: Option<Ohms>) -> &'static str {
    let resistance = resistance.unwrap_or(ORDINARY_MOSFET);
    let family = match kind {
        Switch::Npn | Switch::Pin => Family::Npn,
        Switch::Mosfet => Family::Mosfet,
    };
    let all = entries().iter().filter(|entry| entry.family == family);
    let unlike = |ohms: Ohms| (ohms.0 / resistance.0).ln().abs();
    let nearest = all.min_by(|a, b| unlike(a.resistance).total_cmp(&unlike(b.resistance)));
    nearest
        .expect("every kind is in the catalogue")
        .name
        .as_str()
}

impl LampError {
    /// The worst that it comes to, over what people hardly see.
    pub fn strain(&self) -> f64 {
        let spread = self
            .over_storage
            .map(|off| off.error.abs() / ALLOWED_OVER_STORAGE);
        let typical = self.typical.error.abs() / ALLOWED;
        spread.into_iter().fold(typical, f64::max)
    }

    /// Whether people see it, with a typical part or over what such parts spread.
    pub fn is_seen(&self) -> bool {
        self.strain() > 1.0
    }

    /// Whether the part's storage time counts.
    pub(super) fn spreads(&self) -> bool {
        let [half, more] = self.over_storage.map(|off| off.error);
        (half - more).abs() >= 0.05
    }
}
