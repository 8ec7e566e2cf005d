//! What mends a channel's light: other strings, from the smallest change on, each tried as if the project
//! had it.

use serde::Serialize;

use super::trial::Trial;
use super::{ALLOWED, LampError};
use crate::circuit::part;
use crate::circuit::switch::Device;
use crate::diagnostic::Spanned;
use crate::spec::{Active, LedString, Switch, SwitchDrive, Transistor};

/// A change, and what is left of the error.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// As a project writes it.
    pub change: String,
    pub error: LampError,
}

/// Collector currents over base currents that still light small NPNs in full, whose gain is 100 and more at
/// such currents (common practice, no source).
const GENTLE: [f64; 2] = [30.0, 50.0];

/// The NPN to propose: of all in the catalogue it stores least.
const QUICK_NPN: &str = "2n3904";

/// MOSFETs to propose, the smallest first.
const QUICK: [&str; 2] = ["bss138", "2n7000"];

/// The first change after which the error is hardly seen.
pub(super) fn remedy(trial: &Trial) -> Option<Remedy> {
    let mut tried = changes(trial).into_iter().filter_map(|(change, wanted)| {
        let trial = Trial::new(trial.design, trial.channel, &wanted)?;
        let error = trial.error_of(&trial.shown());
        let calm = trial.crosstalk().is_none_or(|lost| lost.0 <= ALLOWED);
        (calm && !error.is_seen()).then_some(Remedy { change, error })
    });
    tried.next()
}

/// The same transistor, otherwise driven: with less into its base, a capacitor, a diode, or as a sink; then a
/// quicker one of its kind, then one of another.
fn changes(trial: &Trial) -> Vec<(String, LedString)> {
    let own: &LedString = &trial.wanted;
    let mut all = Vec::new();
    let driven = |own: &LedString| {
        let bipolar = part(own).and_then(Device::bipolar);
        bipolar.is_some_and(|part| part.built_in.0 == 0.0)
    };
    if driven(own) {
        all.extend(gentler(own));
        let drives = drives(own).filter(|(_, other)| other.drive.value != own.drive.value);
        all.extend(drives.map(|(drive, other)| (format!("`{drive}`"), other)));
    }
    let npn = own.switch.value == Switch::Npn;
    let quick = quick(trial);
    let (likewise, otherwise) = if npn {
        (quick, Vec::new())
    } else {
        (Vec::new(), quick)
    };
    all.extend(likewise);
    all.extend(mosfets(trial));
    all.extend(otherwise);
    all
}

/// With another NPN.
fn quick(trial: &Trial) -> Vec<(String, LedString)> {
    let own: &LedString = &trial.wanted;
    let quick = LedString {
        switch: own.switch.map(|_| Switch::Npn),
        transistor: named(own, QUICK_NPN),
        ..own.clone()
    };
    if quick.transistor == own.transistor || !is_lit_by_high(trial) {
        return Vec::new();
    }
    let switch = match own.switch.value {
        Switch::Npn => "",
        Switch::Mosfet | Switch::Pin => "switch: npn, ",
    };
    let with = |(drive, other)| {
        let change = format!("`{switch}transistor: {QUICK_NPN}, {drive}`");
        (change, other)
    };
    drives(&quick).map(with).collect()
}

/// As a transistor between string and ground needs it.
fn is_lit_by_high(trial: &Trial) -> bool {
    trial.design.project.channels[trial.channel].active.value == Active::High
}

fn gentler(own: &LedString) -> impl Iterator<Item = (String, LedString)> {
    let plain = own.drive.value == SwitchDrive::Plain;
    let gains = GENTLE.into_iter().filter(move |_| plain);
    gains.filter(|gain| *gain > own.gain).map(|gain| {
        let other = LedString {
            gain,
            ..own.clone()
        };
        (format!("`gain: {gain}`"), other)
    })
}

/// The ways to drive an NPN that is not to be slow, from the fewest parts on.
fn drives(own: &LedString) -> impl Iterator<Item = (&'static str, LedString)> {
    let all = [
        (SwitchDrive::SpeedUp, "drive: speed-up"),
        (SwitchDrive::Clamp, "drive: clamp"),
        (SwitchDrive::Sink, "drive: sink"),
    ];
    let alone = own.parallel.value == 1;
    let possible = all
        .into_iter()
        .filter(move |(drive, _)| alone || *drive != SwitchDrive::Sink);
    possible.map(|(drive, word)| {
        let drive = own.drive.map(|_| drive);
        let other = LedString {
            drive,
            ..own.clone()
        };
        (word, other)
    })
}

fn named(own: &LedString, name: &str) -> Option<Spanned<Transistor>> {
    Some(own.switch.map(|_| Transistor::Named(name.to_string())))
}

fn mosfets(trial: &Trial) -> impl Iterator<Item = (String, LedString)> {
    let own: &LedString = &trial.wanted;
    let high = is_lit_by_high(trial);
    let names = QUICK.into_iter().filter(move |_| high);
    names.map(move |name| {
        let other = LedString {
            switch: own.switch.map(|_| Switch::Mosfet),
            transistor: named(own, name),
            drive: own.drive.map(|_| SwitchDrive::Plain),
            on_resistance: None,
            ..own.clone()
        };
        (format!("`switch: mosfet, transistor: {name}`"), other)
    })
}
