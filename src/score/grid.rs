//! Real time on the grid of ticks.

use crate::score::program::Length;
use crate::units::{Ticks, Time};

/// The ticks of a project. Positions are real numbers of ticks since a program's start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// The length of a tick in nanoseconds, as planned.
    tick: f64,
    /// Whether every time in the project is a whole number of ticks.
    whole: bool,
}

/// Steps of the binary fraction of a [`Length`].
const FINE: f64 = 65536.0;

impl Grid {
    /// Ticks of `seconds` each.
    pub fn new(seconds: f64, whole: bool) -> Self {
        Self {
            tick: seconds * 1e9,
            whole,
        }
    }

    /// The length of a tick in seconds.
    pub fn tick_seconds(&self) -> f64 {
        self.tick / 1e9
    }

    /// Whether lengths need a fraction.
    pub fn fractions(&self) -> bool {
        !self.whole
    }

    /// `time` in ticks.
    pub fn ticks(&self, time: Time) -> f64 {
        let ticks = time.0 as f64 / self.tick;
        if self.whole { ticks.round() } else { ticks }
    }

    /// Whether a time can be told from others like it without rounding: always where lengths have
    /// fractions.
    pub fn tells(&self, time: Time) -> bool {
        let ticks = time.0 as f64 / self.tick;
        !self.whole || (ticks - ticks.round()).abs() < 1e-6
    }

    /// The length from one position to a later one, each rounded to the grid, so that errors do
    /// not add up over a program.
    pub fn length(&self, from: f64, to: f64) -> Length {
        if self.whole {
            Length {
                ticks: Ticks((to.round() - from.round()) as u32),
                fraction: 0,
            }
        } else {
            let fine = ((to * FINE).round() - (from * FINE).round()) as u64;
            Length {
                ticks: Ticks((fine >> 16) as u32),
                fraction: fine as u16,
            }
        }
    }

    /// `position` (at least 0) as whole ticks and what is left over, in 1/256 of a tick: -127 to
    /// 127, because half a tick less would start the carry at a whole tick.
    pub fn rounded(&self, position: f64) -> (Ticks, i16) {
        let whole = position.round();
        let left = ((position - whole) * 256.0).round();
        (Ticks(whole as u32), left.clamp(-127.0, 127.0) as i16)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_tick_left_over_keeps_the_carry_within_a_tick() {
        let grid = Grid::new(0.002, false);
        assert_eq!(grid.rounded(2.5), (Ticks(3), -127));
        assert_eq!(grid.rounded(2.25), (Ticks(2), 64));
    }

    #[test]
    fn boundaries_are_rounded_not_lengths() {
        let grid = Grid::new(0.003, false);
        let mut at = 0.0;
        let mut sum = 0_u64;
        for _ in 0..1000 {
            let next = at + grid.ticks(Time::from_millis(10));
            let length = grid.length(at, next);
            sum += u64::from(length.ticks.0) << 16 | u64::from(length.fraction);
            at = next;
        }
        let ideal = 10_000.0 / 3.0;
        assert!((sum as f64 / FINE - ideal).abs() < 1e-4);
    }
}
