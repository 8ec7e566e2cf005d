//! Chips as data, for a script.

use std::collections::BTreeMap;

use duskloom::chip::{Chip, Core};
use duskloom::units::{Bytes, Hertz, Volts};
use serde::Serialize;

/// What a project can use of a chip.
#[derive(Debug, Serialize)]
pub(super) struct ChipData {
    /// As a project's `chip` has it.
    name: &'static str,
    title: &'static str,
    family: &'static str,
    datasheet: &'static str,
    core: Core,
    flash: Bytes,
    ram: Bytes,
    eeprom: Bytes,
    /// The highest clock by supply, the lowest supply first.
    speed: Vec<Speed>,
    /// What it makes by itself before any division.
    oscillators: Vec<Hertz>,
    /// Pins by port.
    ports: &'static BTreeMap<char, Vec<u8>>,
    /// The pin that resets it, where that is a port pin.
    reset: Option<String>,
    pwm: Vec<Pwm>,
    /// As delivered.
    fuses: Vec<Fuse>,
    packages: Vec<&'static str>,
    errata: &'static [String],
}

#[derive(Debug, Serialize)]
struct Speed {
    volts: Volts,
    clock: Hertz,
}

/// A PWM output.
#[derive(Debug, Serialize)]
struct Pwm {
    output: &'static str,
    pin: String,
    timer: u8,
}

#[derive(Debug, Serialize)]
struct Fuse {
    name: &'static str,
    value: u8,
}

impl ChipData {
    pub(super) fn of(chip: &'static Chip) -> Self {
        let speed = chip.speed.iter().map(|grade| Speed {
            volts: grade.volts,
            clock: grade.hertz,
        });
        let pwm = chip.outputs().map(|(timer, output)| Pwm {
            output: &output.name,
            pin: output.pin.to_string(),
            timer: timer.number,
        });
        let fuses = chip.fuses.iter().map(|fuse| Fuse {
            name: &fuse.name,
            value: fuse.factory,
        });
        let oscillators = chip.clocks.internal.iter();
        Self {
            name: &chip.name,
            title: &chip.title,
            family: &chip.family,
            datasheet: &chip.datasheet,
            core: chip.core,
            flash: chip.flash,
            ram: chip.ram.size,
            eeprom: chip.eeprom.size,
            speed: speed.collect(),
            oscillators: oscillators.map(|oscillator| oscillator.hertz).collect(),
            ports: &chip.ports,
            reset: chip.reset.map(|pin| pin.to_string()),
            pwm: pwm.collect(),
            fuses: fuses.collect(),
            packages: chip.packages.iter().map(|p| p.name.as_str()).collect(),
            errata: &chip.errata,
        }
    }
}
