//! The beat: a slow unit of time, some ticks long, in which dwells and quiet times are counted.

use serde::Serialize;

use crate::plan::Tick;
use crate::units::{Bytes, Time};

/// Beats counted in a byte, with room for the steps of a save.
const MOST: f64 = 230.0;

const FEWEST: u32 = 2;
const MOST_TICKS: u32 = 1 << 15;

/// The internal oscillator, which times the EEPROM, is within 10 % as delivered (datasheets).
const WRITE_MARGIN: f64 = 1.1;

/// A change is safe this much after the quiet time that the project wants, at the latest.
pub const SAVED_WITHIN: Time = Time::from_millis(300);

/// How the firmware counts slow times.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Beats {
    /// Ticks in a beat: a power of two.
    pub ticks: u32,
    /// How long a pattern stays, in beats.
    pub dwell: Option<Dwell>,
    /// `None`: nothing is saved.
    pub saving: Option<Saving>,
}

/// A drawn number of beats: from `low` to `low + span`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Dwell {
    pub low: u8,
    pub span: u8,
}

/// The pace of a save. Its steps are counted down to 0: those of quiet, then one byte each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Saving {
    /// Ticks from step to step: a power of two, no more than a beat has, and longer than the EEPROM
    /// takes for a byte.
    pub every: u32,
    /// Steps of quiet after a change, at least one: in the last the check byte starts anew.
    pub quiet: u16,
    /// Steps that write a byte each.
    pub writing: u16,
}

impl Beats {
    pub fn new(tick: &Tick, dwell: Option<(Time, Time)>, saving: Option<Saving>) -> Self {
        let longest = dwell.map_or(0.0, |(_, high)| tick.count(high));
        let fewest = saving.map_or(FEWEST, |saving| saving.every);
        let ticks = power(fewest, MOST_TICKS, |ticks| longest / ticks <= MOST);
        let beats = |time: Time| tick.count(time) / f64::from(ticks);
        Self {
            ticks,
            dwell: dwell.map(|(low, high)| Dwell::within(beats(low), beats(high))),
            saving,
        }
    }

    /// Whether ticks within a beat are counted in two bytes.
    pub fn is_wide(&self) -> bool {
        self.ticks > 256
    }
}

impl Saving {
    /// Bytes that a save writes after those of the state: the gap and the check byte.
    pub const LAST: u16 = 2;

    /// For so many bytes of state, each of which takes `write`. `after`: how long after a change
    /// they are saved, if changes are.
    pub fn new(tick: &Tick, state: Bytes, write: Time, after: Option<Time>) -> Self {
        let writing = state.0 as u16 + Self::LAST;
        let write = tick.count(write) * WRITE_MARGIN;
        let within = tick.count(SAVED_WITHIN) - write;
        let after = after.map_or(0.0, |after| tick.count(after));
        let safe = power(FEWEST, MOST_TICKS, |every| every > write);
        let swift = |every: u32| f64::from(writing) * f64::from(every) <= within;
        let every = power(safe, MOST_TICKS, |every| {
            after / every <= MOST || !swift(2 * every as u32)
        });
        let steps = |time: f64| time / f64::from(every);
        let most = (steps(after + within).floor() - f64::from(writing)).max(1.0);
        Self {
            every,
            quiet: steps(after).ceil().clamp(1.0, most) as u16,
            writing,
        }
    }

    /// Steps of a save that begins as soon as can be.
    pub fn at_once(self) -> u16 {
        1 + self.writing
    }

    /// Steps of a save that follows a change.
    pub fn after_change(self) -> u16 {
        self.quiet + self.writing
    }

    /// Whether the steps are counted in two bytes.
    pub fn is_wide(self) -> bool {
        self.after_change() > 255
    }
}

/// The first power of two from one on that will do, or the last one.
fn power(from: u32, to: u32, will_do: impl Fn(f64) -> bool) -> u32 {
    let mut power = from;
    while power < to && !will_do(f64::from(power)) {
        power *= 2;
    }
    power
}

impl Dwell {
    /// A dwell of n beats lasts more than n - 1 and at most n of them, as it starts between two.
    fn within(low: f64, high: f64) -> Self {
        let first = (low.ceil() + 1.0).clamp(1.0, 255.0);
        let last = high.floor().clamp(first, 255.0);
        Self {
            low: first as u8,
            span: (last - first) as u8,
        }
    }
}
