//! Evenings and nights: most of an evening is passed over on chip and model alike; a night is slept through.

use std::ops::Range;

use super::Bench;
use crate::verify::Failure;
use crate::verify::machine::{Moment, PLACES, Stop};

/// No night is so many times as long as it should be, however slow the watchdog.
const SLOWEST: f64 = 3.0;

impl Bench<'_> {
    /// The watchdog's oscillator runs so many times as fast as it should, from power on.
    pub fn set_watchdog_pace(&mut self, pace: f64) {
        self.machine.set_watchdog_pace(pace);
    }

    /// The watchdog's period, in seconds.
    pub fn watchdog_period(&self) -> f64 {
        self.machine.seconds(self.machine.watchdog_period())
    }

    /// How many of the watchdog's periods the firmware has counted this evening.
    pub fn periods(&mut self) -> u16 {
        let at = self.periods_at();
        let [low, high] = [at, at + 1].map(|address| self.machine.memory(address));
        u16::from_le_bytes([low, high])
    }

    /// As if the evening had begun earlier: it has so many ticks left, and the firmware has counted the periods
    /// of the watchdog that went by, if it does. Returns how many seconds that was.
    pub fn pass_evening(&mut self, left: u32) -> f64 {
        let bytes = self.ticks_at();
        let before = bytes.clone().rev().fold(0, |ticks: u32, address| {
            ticks << 8 | u32::from(self.machine.memory(address))
        });
        let left = left.min(before);
        for (address, byte) in bytes.zip(left.to_le_bytes()) {
            self.machine.set_memory(address, byte);
        }
        self.model.pass(left);
        let passed = f64::from(before - left) * self.setup.design.plan.tick.seconds();
        if self.setup.design.firmware.evening.is_none() {
            return passed;
        }
        let periods = self.periods() + (passed / self.watchdog_period()).round() as u16;
        let at = self.periods_at();
        for (address, byte) in (at..).zip(periods.to_le_bytes()) {
            self.machine.set_memory(address, byte);
        }
        passed
    }

    /// Sleeps until the firmware starts anew; when that is.
    pub fn sleep_through(&mut self) -> Result<Moment, Failure> {
        self.wake()?;
        Ok(self.machine.now())
    }

    /// In seconds.
    pub(super) fn longest_night(&self) -> f64 {
        let design = self.setup.design;
        let night = design.firmware.evening.map_or(0, |evening| evening.night.0);
        let looks = design.firmware.dusk.map_or(0, |dusk| dusk.room.looks);
        let looks = f64::from(looks) * self.watchdog_period();
        SLOWEST * (f64::from(night) * design.plan.tick.seconds() + looks)
    }

    /// Dark, whether it starts anew within some seconds.
    pub fn rests_for(&mut self, seconds: f64) -> Result<bool, Failure> {
        let end = self.machine.now() + (seconds * self.machine.clock().0) as u64;
        let main = self.setup.landmarks.main;
        while self.machine.now() < end {
            if self.run_off([main; PLACES], end)? == Stop::There {
                return Ok(true);
            }
            self.step(end)?;
        }
        Ok(false)
    }

    /// Where an evening's ticks are counted, byte by byte.
    fn ticks_at(&self) -> Range<u16> {
        let start = self.setup.landmarks.evening.unwrap_or_default();
        start..start + self.setup.design.firmware.counted().0 as u16
    }

    fn periods_at(&self) -> u16 {
        self.ticks_at().end
    }
}
