//! Light that a pattern moves to and fro faster than the eye takes for movement: flicker that is
//! made by the pattern, not by the PWM.
//!
//! A swing from one extreme to the next is held against IEEE Std 1789-2015 by the standard's own
//! measure, (most − least) / (most + least), at the rate at which the extremes come back. What moves
//! slower than [`SEEN`] is meant to be seen, and is for the rule of flashes.

use serde::Serialize;

use super::flicker::{Component, Risk};
use crate::units::{Hertz, Seconds, Share};

/// Slower than this, people see the light move (common practice, no source: pictures that follow
/// each other faster are one movement). The standard judges visible flicker from 3 Hz on, but at such
/// rates every candle would be beyond it.
pub(super) const SEEN: Hertz = Hertz(25.0);
/// So many times to and fro, one after the other, are flicker; fewer pass too soon to tire.
const CYCLES: usize = 4;
/// Extremes that make them: first and last are the same.
const EXTREMES: usize = 2 * CYCLES + 1;

/// The most harmful flicker that a pattern makes in one string.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Wobble {
    pub channel: usize,
    /// When it begins.
    pub at: Seconds,
    pub component: Component,
    pub risk: Risk,
}

/// Follows one string's light, step by step where it moves.
#[derive(Debug, Clone)]
pub(super) struct Follower {
    /// At the clock for which frequencies are judged.
    step: Seconds,
    /// Since when it shines so.
    last: Option<(usize, f64)>,
    rises: Option<bool>,
    /// The latest, oldest first.
    extremes: Vec<(usize, f64)>,
    worst: Option<(usize, Component)>,
}

impl Follower {
    pub(super) fn new(step: Seconds) -> Self {
        Self {
            step,
            last: None,
            rises: None,
            extremes: Vec::with_capacity(EXTREMES + 1),
            worst: None,
        }
    }

    /// From this step on, it shines so.
    pub(super) fn see(&mut self, step: usize, light: f64) {
        let Some(last) = self.last else {
            self.last = Some((step, light));
            return;
        };
        if light == last.1 {
            return;
        }
        let rises = light > last.1;
        if self.rises != Some(rises) {
            self.turn(last);
        }
        self.rises = Some(rises);
        self.last = Some((step, light));
    }

    fn turn(&mut self, extreme: (usize, f64)) {
        if self.extremes.len() == EXTREMES {
            self.extremes.remove(0);
        }
        self.extremes.push(extreme);
        let [first, .., last] = self.extremes[..] else {
            return;
        };
        let time = self.step.0 * (last.0 - first.0) as f64;
        let frequency = CYCLES as f64 / time;
        if self.extremes.len() < EXTREMES || frequency <= SEEN.0 {
            return;
        }
        let swings = self.extremes.windows(2);
        let depth = |pair: &[(usize, f64)]| (pair[0].1 - pair[1].1).abs() / (pair[0].1 + pair[1].1);
        let modulation = swings.map(depth).sum::<f64>() / (EXTREMES - 1) as f64;
        let component = Component {
            frequency: Hertz(frequency),
            modulation: Share(modulation),
        };
        let worse = self
            .worst
            .is_none_or(|(_, known)| component.by_harm(&known).is_gt());
        if worse {
            self.worst = Some((first.0, component));
        }
    }

    /// The most harmful flicker up to now, and the step at which it begins.
    pub(super) fn worst(&self) -> Option<(usize, Component)> {
        self.worst
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(light: impl IntoIterator<Item = f64>, millis: f64) -> Option<Component> {
        let mut follower = Follower::new(Seconds(millis / 1e3));
        for (step, light) in light.into_iter().enumerate() {
            follower.see(step, light);
        }
        follower.worst().map(|(_, component)| component)
    }

    fn swings(depth: f64, high: usize, low: usize) -> Vec<f64> {
        let one = [vec![1.0 + depth; high], vec![1.0 - depth; low]].concat();
        one.repeat(10)
    }

    /// From IEEE Std 1789-2015, recommended practice 1: below 90 Hz at most 0.025 % a hertz, hence
    /// 2.08 % at 83.3 Hz and 1.56 % at 62.5 Hz (from memory).
    #[test]
    fn verdicts_by_hand() {
        for (depth, high, low, frequency, risk) in [
            (0.03, 1, 2, 1000.0 / 12.0, Risk::High),
            (0.10, 2, 2, 62.5, Risk::High),
            (0.02, 1, 2, 1000.0 / 12.0, Risk::Low),
            (0.005, 2, 2, 62.5, Risk::NoEffect),
        ] {
            let found = of(swings(depth, high, low), 4.0).expect("it moves to and fro");
            assert!((found.frequency.0 - frequency).abs() < 1e-9, "{found:?}");
            assert!((found.modulation.0 - depth).abs() < 1e-9, "{found:?}");
            assert_eq!(found.risk(), risk, "{found:?}");
        }
    }

    #[test]
    fn fades_and_what_is_seen_to_move_are_not_flicker() {
        assert_eq!(of((0..200).map(f64::from), 4.0), None);
        // 25 Hz.
        assert_eq!(of(swings(0.5, 5, 5), 4.0), None);
        // Three times to and fro, and still again.
        assert_eq!(of([1.0, 2.0, 1.0, 2.0, 1.0, 2.0, 1.0, 1.0, 1.0], 4.0), None);
    }
}
