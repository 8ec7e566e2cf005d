//! The beat: a slow unit of time, some ticks long, in which dwells and quiet times are counted in
//! a single byte.

use serde::Serialize;

use crate::plan::Tick;
use crate::units::Time;

/// Beats counted in a byte, with room for the steps of a save.
const MOST: f64 = 230.0;

const FEWEST: u32 = 2;
const MOST_TICKS: u32 = 1 << 15;

/// The internal oscillator, which times the EEPROM, is within 10 % as delivered (datasheets).
const WRITE_MARGIN: f64 = 1.1;

/// How the firmware counts slow times.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Beats {
    /// Ticks in a beat: a power of two.
    pub ticks: u32,
    /// How long a pattern stays.
    pub dwell: Option<Dwell>,
    /// Beats of quiet before a change is saved.
    pub quiet: u8,
}

/// A drawn number of beats: from `low` to `low + span`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Dwell {
    pub low: u8,
    pub span: u8,
}

impl Beats {
    /// `write`: how long the EEPROM takes for a byte, if anything is saved. A beat is longer, so that
    /// it has done with one byte before the next.
    pub fn new(
        tick: &Tick,
        dwell: Option<(Time, Time)>,
        quiet: Option<Time>,
        write: Option<Time>,
    ) -> Self {
        let longest = dwell
            .map_or(0.0, |(_, high)| tick.count(high))
            .max(quiet.map_or(0.0, |quiet| tick.count(quiet)));
        let write = write.map_or(0.0, |write| tick.count(write) * WRITE_MARGIN);
        let is_short = |ticks| longest / f64::from(ticks) > MOST || f64::from(ticks) <= write;
        let mut ticks = FEWEST;
        while is_short(ticks) && ticks < MOST_TICKS {
            ticks *= 2;
        }
        let beats = |time: Time| tick.count(time) / f64::from(ticks);
        Self {
            ticks,
            dwell: dwell.map(|(low, high)| Dwell::within(beats(low), beats(high))),
            quiet: quiet.map_or(0, |quiet| beats(quiet).ceil() as u8),
        }
    }

    /// Whether ticks within a beat are counted in two bytes.
    pub fn is_wide(&self) -> bool {
        self.ticks > 256
    }
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
