//! The core, its memories, vectors, watchdog, sleep and comparator.

use serde::{Deserialize, Serialize};

use crate::units::{Bytes, Cycles, Time};

/// The instruction set, as avr-gcc names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Core {
    /// No `MUL`, up to 8 KB of flash.
    Avr25,
    /// `MUL`, up to 8 KB of flash.
    Avr4,
    /// `MUL` and `JMP`, up to 64 KB of flash.
    Avr5,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ram {
    /// In the data space.
    pub start: u16,
    pub size: Bytes,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Eeprom {
    pub size: Bytes,
    pub page: Bytes,
    /// Writes that a cell survives (datasheet: 100,000).
    pub endurance: u32,
    /// Longest erase and write of a byte, in microseconds.
    pub write_microseconds: u32,
    /// What some headers call the low byte of the address register, where others have `EEARL`.
    #[serde(default)]
    pub address_also: Option<String>,
    /// The bit that arms a write, `EEMPE` or `EEMWE`.
    pub arm: String,
    /// The bit that starts a write, `EEPE` or `EEWE`.
    pub start: String,
}

impl Eeprom {
    /// The longest that a byte takes to be erased and written.
    pub fn write(&self) -> Time {
        Time(u64::from(self.write_microseconds) * 1_000)
    }
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Vectors {
    /// Reset included.
    pub count: u8,
    /// 2 (an `rjmp`) or 4 (a `jmp`).
    pub size: Bytes,
}

impl Vectors {
    /// What the jump at a vector takes (AVR instruction set manual, `RJMP` and `JMP`).
    pub fn jump(&self) -> Cycles {
        Cycles(if self.size.0 == 4 { 3 } else { 2 })
    }

    /// What the whole table takes.
    pub fn table(&self) -> Bytes {
        Bytes(u32::from(self.count) * self.size.0)
    }
}

/// The watchdog: which register, and how long it can wait.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Watchdog {
    /// `WDTCR` or `WDTCSR`.
    pub register: String,
    /// The bit that allows a change, for four cycles.
    pub change: String,
    /// The bit that makes it reset the chip.
    pub enable: String,
    /// Prescaler bits, lowest first.
    pub prescaler: Vec<String>,
    /// Nominal times in milliseconds by prescaler value, shortest first.
    pub milliseconds: Vec<u32>,
    /// The register with the reset flags.
    pub flags_register: String,
    /// A watchdog reset leaves it on, at its shortest time, until `WDRF` is cleared.
    pub stays_on: bool,
    /// `None`: all it can do is reset the chip.
    #[serde(default)]
    pub interrupt: Option<WatchdogInterrupt>,
}

/// The interrupt with which the watchdog can begin.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WatchdogInterrupt {
    pub vector: String,
    pub number: u8,
    /// The bit, in the watchdog's register, that lets it through.
    pub enable: String,
}

impl Watchdog {
    /// Nominal times by prescaler value, shortest first.
    pub fn times(&self) -> impl Iterator<Item = Time> {
        self.milliseconds
            .iter()
            .map(|&ms| Time::from_millis(u64::from(ms)))
    }
}

/// How the processor is put to sleep. Idle is the mode with all mode bits zero.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sleep {
    /// `MCUCR` or `SMCR`.
    pub register: String,
    pub enable: String,
    /// The mode bits of power-down.
    pub power_down: Vec<String>,
    /// How the brown-out detector is switched off for a sleep. `None`: it goes on.
    #[serde(default)]
    pub brown_out: Option<DetectorOff>,
}

/// Two writes, of both bits and then of `off` alone, just before the sleep.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DetectorOff {
    pub register: String,
    pub off: String,
    pub unlock: String,
}

/// The analog comparator, which runs and draws current from reset on.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Comparator {
    /// `ACSR` or `ACSRA`.
    pub register: String,
    /// The bit that switches it off.
    pub disable: String,
}
