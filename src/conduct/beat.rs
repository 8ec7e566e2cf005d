//! The beat: a slow unit of time, some ticks long, in which dwells and quiet times are counted.

use serde::Serialize;

use super::Saving;
use crate::plan::Tick;
use crate::target::Wanted;
use crate::units::Time;

/// Beats counted in a byte, with room for the steps of a save.
pub(super) const MOST: f64 = 230.0;

pub(super) const FEWEST: u32 = 2;
pub(super) const MOST_TICKS: u32 = 1 << 15;

/// How the firmware counts slow times.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Beats {
    /// Ticks in a beat: a power of two.
    pub ticks: u32,
    /// How long a pattern stays, in beats.
    pub dwell: Option<Dwell>,
}

/// A drawn number of beats: from `low` to `low + span`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Dwell {
    pub low: u8,
    pub span: u8,
}

impl Beats {
    /// `saving`: nothing is saved where there is none.
    pub fn new(tick: &Tick, dwell: Option<(Time, Time)>, saving: Option<Saving>) -> Self {
        let longest = dwell.map_or(0.0, |(_, high)| tick.count(high));
        let fewest = saving.map_or(FEWEST, |saving| saving.every.max(FEWEST));
        let ticks = power(fewest, MOST_TICKS, |ticks| longest / ticks <= MOST);
        let beats = |time: Time| tick.count(time) / f64::from(ticks);
        Self {
            ticks,
            dwell: dwell.map(|(low, high)| Dwell::within(beats(low), beats(high))),
        }
    }

    /// Whether ticks within a beat are counted in two bytes.
    pub fn is_wide(&self) -> bool {
        self.ticks > 256
    }
}

/// The first power of two from one on that will do, or the last one.
pub(super) fn power(from: u32, to: u32, will_do: impl Fn(f64) -> bool) -> u32 {
    let mut power = from;
    while power < to && !will_do(f64::from(power)) {
        power *= 2;
    }
    power
}

impl Dwell {
    /// What it is counted in.
    pub fn variables() -> [Wanted; 1] {
        [Wanted::new("dwell", false, "beats until the next scene")]
    }

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
