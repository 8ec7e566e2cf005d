//! What is known of a string's transistor, and what it holds back when on.

use super::switch::{Bipolar, Device, Entry, Mosfet, find};
use crate::spec::{LedString, Sheet, Switch, SwitchDrive, Transistor};
use crate::units::{Ohms, Volts};

/// Of an NPN of which nothing is known (common practice, no source).
const SATURATION: Volts = Volts(0.2);
/// With a Schottky diode from base to collector (common practice, no source).
const CLAMPED: Volts = Volts(0.4);
/// Of a MOSFET of which nothing is known (common practice, no source).
const ON_RESISTANCE: Ohms = Ohms(0.1);

/// The transistor that a string names or gives figures of, if it is known.
pub fn part(wanted: &LedString) -> Option<Device> {
    match &wanted.transistor.as_ref()?.value {
        Transistor::Named(name) => find(name).map(|entry| entry.part),
        Transistor::Sheet(Sheet::Bipolar(sheet)) => Bipolar::of_sheet(sheet).map(Device::Bipolar),
        Transistor::Sheet(Sheet::Mosfet(sheet)) => Some(Device::Mosfet(Mosfet::of_sheet(sheet))),
    }
}

fn entry(wanted: &LedString) -> Option<&'static Entry> {
    match &wanted.transistor.as_ref()?.value {
        Transistor::Named(name) => find(name),
        Transistor::Sheet(_) => None,
    }
}

/// What the switch drops when on, at every current.
pub(super) fn drop(wanted: &LedString) -> Volts {
    if wanted.switch.value != Switch::Npn {
        return Volts(0.0);
    }
    let known = || entry(wanted).map(|entry| entry.saturation);
    let saturated = wanted.saturation.or_else(known).unwrap_or(SATURATION);
    match wanted.drive.value {
        SwitchDrive::Clamp => Volts(saturated.0.max(CLAMPED.0)),
        SwitchDrive::Plain | SwitchDrive::SpeedUp | SwitchDrive::Sink => saturated,
    }
}

/// What the transistor resists when on.
pub(super) fn resistance(wanted: &LedString) -> Ohms {
    match wanted.switch.value {
        Switch::Npn | Switch::Pin => Ohms(0.0),
        Switch::Mosfet => {
            let known = || entry(wanted).map(|entry| entry.resistance);
            wanted.on_resistance.or_else(known).unwrap_or(ON_RESISTANCE)
        }
    }
}
