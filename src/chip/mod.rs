//! The chips duskloom can build for: data files under `data/`, read into [`Chip`].
//!
//! A chip that is to be added gets its facts in a file there and a line in `catalogue.rs`; nothing
//! else knows one chip from another.

mod brown_out;
mod catalogue;
mod clock;
mod converter;
mod electrical;
mod fuse;
mod memory;
mod pin;
mod register;
mod timer;
mod wake;

use std::collections::BTreeMap;

use serde::Deserialize;

use crate::units::{Hertz, Volts};

pub use brown_out::{BrownOut, is_brown_out_fuse};
pub use catalogue::{all, families, find};
pub use clock::{Clocks, CrystalRange, FuseBits, Oscillator, SpeedGrade, Uncalibrated};
pub use converter::{Bandgap, Converter};
pub use electrical::{Electrical, OutputResistance, PowerDown};
pub use fuse::{FuseByte, FuseMeaning};
pub use memory::{
    Comparator, Core, DetectorOff, Eeprom, Ram, Sleep, Vectors, Watchdog, WatchdogInterrupt,
};
pub use pin::{Debugging, Package, Pin, Programming};
pub use register::{Reach, Register};
pub use timer::{Bits, Event, Output, Polarity, Timer};
pub use wake::{ChangePort, LevelPin, Wake};

/// All that is known of one chip.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Chip {
    /// As avr-gcc's `-mmcu` and a project's `chip` have it: `attiny2313a`.
    pub name: String,
    /// As its datasheet has it: `ATtiny2313A`.
    pub title: String,
    /// The family that it shares its data file with: `ATtiny2313`.
    pub family: String,
    /// Where the facts come from: the datasheet's title and number.
    pub datasheet: String,
    /// avrdude's name of the part, for `-p`.
    pub avrdude: String,
    pub core: Core,
    pub flash: crate::units::Bytes,
    pub ram: Ram,
    pub eeprom: Eeprom,
    pub vectors: Vectors,
    /// Highest clock by supply voltage, lowest voltage first.
    pub speed: Vec<SpeedGrade>,
    /// Levels of the brown-out detector, lowest first.
    pub brown_out: Vec<BrownOut>,
    /// What is sold under names of its own, the usual one first; empty: there is one for all.
    #[serde(default)]
    pub versions: Vec<Version>,
    pub clocks: Clocks,
    /// Writing ones to `PINx` toggles the port's latch.
    pub pin_toggles: bool,
    /// The pin that resets the chip, where it is a port pin.
    pub reset: Option<Pin>,
    pub programming: Programming,
    pub debugging: Option<Debugging>,
    pub electrical: Electrical,
    pub watchdog: Watchdog,
    pub sleep: Sleep,
    pub wake: Wake,
    pub comparator: Comparator,
    /// `None`: it has none.
    pub converter: Option<Converter>,
    /// Resets the prescalers of all timers: register and bits. `None` where one timer is all.
    pub prescaler_reset: Option<Bits>,
    /// Why the fuses of a delivered chip cannot be relied on, where that is so.
    pub fuses_vary: Option<String>,
    /// What its silicon does otherwise than its datasheet says, and in which revisions.
    #[serde(default)]
    pub errata: Vec<String>,
    /// Low byte first.
    pub fuses: Vec<FuseByte>,
    /// The timers that can make PWM, by number.
    pub timers: Vec<Timer>,
    /// The bits of each port that have a pin.
    pub ports: BTreeMap<char, Vec<u8>>,
    pub packages: Vec<Package>,
    /// What the firmware and the simulator touch, by name.
    pub registers: BTreeMap<String, Register>,
}

/// A version of a chip that is ordered by a name of its own.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Version {
    /// Behind the chip's title, such as `V-10`.
    pub suffix: String,
    /// The lowest supply it is specified for.
    pub volts: Volts,
    /// Its highest clock, at whatever supply.
    pub hertz: Hertz,
}

impl Version {
    pub fn will_do(&self, clock: Hertz, supply: Volts) -> bool {
        clock.0 <= self.hertz.0 && supply.0 >= self.volts.0
    }
}

impl Chip {
    /// The register of this name; a data file that names one it does not list fails its test.
    pub fn register(&self, name: &str) -> Option<&Register> {
        self.registers.get(name)
    }

    /// Whether `MUL` is there (the tiny core has none and multiplies by a library loop).
    pub fn multiplies(&self) -> bool {
        self.core != Core::Avr25
    }

    /// Whether the chip has this pin.
    pub fn has(&self, pin: Pin) -> bool {
        self.ports
            .get(&pin.port)
            .is_some_and(|bits| bits.contains(&pin.bit))
    }

    /// All port pins, by port.
    pub fn pins(&self) -> impl Iterator<Item = Pin> {
        let port = |(&port, bits): (&char, &Vec<u8>)| -> Vec<Pin> {
            bits.iter().map(|&bit| Pin { port, bit }).collect()
        };
        self.ports.iter().flat_map(port)
    }

    /// The PWM outputs on this pin, by timer number.
    pub fn outputs_on(&self, pin: Pin) -> Vec<(&Timer, &Output)> {
        self.outputs()
            .filter(|(_, output)| output.pin == pin)
            .collect()
    }

    /// All PWM outputs, by timer number, then in the timer's own order.
    pub fn outputs(&self) -> impl Iterator<Item = (&Timer, &Output)> {
        self.timers
            .iter()
            .flat_map(|timer| timer.outputs.iter().map(move |output| (timer, output)))
    }

    /// What else the pin is, as its datasheet names it: `OC0A`, `RESET`, `MOSI`, `XTAL1`.
    pub fn functions(&self, pin: Pin) -> Vec<String> {
        let mut names = Vec::new();
        if self.reset == Some(pin) {
            names.push("RESET".to_string());
        }
        names.extend(self.clocks.functions(pin));
        names.extend(
            self.outputs_on(pin)
                .iter()
                .map(|(_, output)| output.name.clone()),
        );
        names.extend(self.programming.function(pin).map(str::to_string));
        names
    }

    /// The version to buy for a clock and the lowest supply: the usual one where it will do. `None`:
    /// all are alike, or none will do.
    pub fn version_for(&self, clock: Hertz, supply: Volts) -> Option<&Version> {
        self.versions
            .iter()
            .find(|version| version.will_do(clock, supply))
    }

    /// The lowest supply at which the datasheet allows this clock; `None`: none does.
    pub fn volts_for(&self, clock: Hertz) -> Option<Volts> {
        self.speed
            .iter()
            .find(|grade| clock.0 <= grade.hertz.0)
            .map(|grade| grade.volts)
    }
}
