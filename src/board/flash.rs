//! Flashes: the general flash of WCAG 2.
//!
//! "A flash is a pair of opposing changes in relative luminance of 10 % or more of the maximum
//! relative luminance where the relative luminance of the darker image is below 0.80" and there may
//! not be "more than three general flashes within any one-second period" (WCAG 2.2, glossary,
//! 'general flash and red flash thresholds'; success criterion 2.3.1).
//!
//! A change is counted at the moment when it has come to 10 %, however it goes on; smaller movements
//! in between do not end it. More than six changes within less than a second are the start of a
//! fourth flash, so they fail. The allowance for small areas is not used: nobody knows how near
//! people stand. The stricter rule for saturated red is not applied either: a project does not say
//! what colour its strings have.

use serde::Serialize;

use super::watch::Watch;
use crate::units::{Luminance, Seconds};

/// Changes smaller than this do not count.
pub(super) const LEAST: f64 = 0.10;
/// Changes between lights at least this bright do not count.
const BRIGHT: f64 = 0.80;
/// So many flashes in a second are allowed.
pub const SAFE: usize = 3;
/// As many, up and down.
const MOST_CHANGES: usize = 2 * SAFE;
/// Room for rounding in sums of ticks and of light.
pub(super) const NEAR: f64 = 1e-9;

/// A course of the light: relative luminances, one after the other, evenly apart.
#[derive(Debug, Clone, Copy)]
pub struct Luminances<'a> {
    /// From one to the next.
    pub step: Seconds,
    pub light: &'a [Luminance],
}

/// A counted change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Change {
    /// When it has come to 10 %.
    pub at: Seconds,
    pub from: Luminance,
    pub to: Luminance,
}

/// The second with the most flashes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Busiest {
    /// When it starts.
    pub at: Seconds,
    /// Flashes that begin in it.
    pub flashes: usize,
    pub passes: bool,
}

/// The smallest changes after each of which a course passes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Remedy {
    /// Make everything take this many times as long.
    pub slower: f64,
    /// Or give this much of the light.
    pub dimmer: f64,
}

impl Luminances<'_> {
    /// All changes that count.
    pub fn changes(&self) -> Vec<Change> {
        self.changes_scaled(1.0)
    }

    fn changes_scaled(&self, factor: f64) -> Vec<Change> {
        let mut watch = Watch::new(self.step);
        for light in self.light {
            watch.see(Luminance(light.0 * factor));
        }
        watch.changes()
    }

    /// The second with the most flashes, the first of equals.
    pub fn busiest(&self) -> Busiest {
        busiest(&self.changes())
    }

    /// What would make it pass; `None`: it passes.
    pub fn remedy(&self) -> Option<Remedy> {
        let changes = self.changes();
        if busiest(&changes).passes {
            return None;
        }
        let shortest = changes
            .windows(MOST_CHANGES + 1)
            .map(|seven| seven[MOST_CHANGES].at.0 - seven[0].at.0)
            .fold(f64::INFINITY, f64::min);
        // A coarse search for the brightest factor that passes, as passing need not be monotone.
        let dimmer = (1..=200)
            .rev()
            .map(|part| f64::from(part) / 200.0)
            .find(|&factor| busiest(&self.changes_scaled(factor)).passes)
            .unwrap_or(0.0);
        Some(Remedy {
            slower: 1.0 / shortest,
            dimmer,
        })
    }
}

/// The second with the most flashes among these changes.
pub(super) fn busiest(changes: &[Change]) -> Busiest {
    let mut most = (0, Seconds(0.0));
    let mut end = 0;
    for (start, change) in changes.iter().enumerate() {
        while end < changes.len() && changes[end].at.0 - change.at.0 < 1.0 - NEAR {
            end += 1;
        }
        if end - start > most.0 {
            most = (end - start, change.at);
        }
    }
    Busiest {
        at: most.1,
        flashes: most.0.div_ceil(2),
        passes: most.0 <= MOST_CHANGES,
    }
}

/// Whether the darker of its lights is dark enough.
pub(super) fn counts(change: &Change) -> bool {
    change.from.0.min(change.to.0) < BRIGHT - NEAR
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A hundredth of a second.
    const STEP: Seconds = Seconds(0.01);

    fn judged(light: &[f64]) -> Busiest {
        let light: Vec<Luminance> = light.iter().copied().map(Luminance).collect();
        Luminances {
            step: STEP,
            light: &light,
        }
        .busiest()
    }

    /// `flashes` times on and off, `on` and `off` steps long, from `low` to `high`, with a second
    /// of `low` before and after.
    fn train(flashes: usize, (on, off): (usize, usize), low: f64, high: f64) -> Vec<f64> {
        let mut light = vec![low; 100];
        for _ in 0..flashes {
            light.extend(vec![high; on]);
            light.extend(vec![low; off]);
        }
        light.extend(vec![low; 100]);
        light
    }

    /// Hand-worked from the definition. The last number is how many flashes begin in the worst
    /// second.
    #[test]
    fn verdicts_by_hand() {
        let cases: &[(&str, Vec<f64>, bool, usize)] = &[
            ("steady light", vec![0.7; 300], true, 0),
            ("one flash", train(1, (10, 10), 0.0, 1.0), true, 1),
            (
                "exactly three in a second",
                train(3, (16, 17), 0.0, 1.0),
                true,
                3,
            ),
            (
                "three in a second, for ever",
                train(30, (50, 50), 0.0, 1.0),
                true,
                1,
            ),
            ("four in a second", train(4, (12, 13), 0.0, 1.0), false, 4),
            (
                "four in just over a second",
                train(4, (17, 17), 0.0, 1.0),
                true,
                3,
            ),
            ("five hertz", train(20, (10, 10), 0.0, 1.0), false, 5),
            (
                "three hertz, for ever",
                train(30, (16, 18), 0.0, 1.0),
                true,
                3,
            ),
            ("swings of 9.9 %", train(20, (5, 5), 0.3, 0.399), true, 0),
            ("swings of 10.1 %", train(20, (5, 5), 0.3, 0.401), false, 10),
            (
                "swings of exactly 10 %",
                train(20, (5, 5), 0.3, 0.4),
                false,
                10,
            ),
            ("darker one at 0.80", train(20, (5, 5), 0.80, 1.0), true, 0),
            (
                "darker one at 0.79",
                train(20, (5, 5), 0.79, 1.0),
                false,
                10,
            ),
            ("darker one at 0.85", train(20, (5, 5), 0.85, 0.99), true, 0),
            (
                "double flash, then two seconds dark",
                [train(2, (15, 15), 0.0, 1.0), vec![0.0; 200]].concat(),
                true,
                2,
            ),
            ("short blinks, three", train(3, (1, 1), 0.0, 1.0), true, 3),
            ("short blinks, four", train(4, (1, 1), 0.0, 1.0), false, 4),
        ];
        for (name, light, passes, flashes) in cases {
            let found = judged(light);
            assert_eq!((found.passes, found.flashes), (*passes, *flashes), "{name}");
        }
    }

    #[test]
    fn a_fade_counts_once_however_it_is_stepped() {
        let slope = |steps: usize| (0..=steps).map(move |n| n as f64 / steps as f64);
        for steps in [1, 5, 50, 99] {
            let light: Vec<f64> = slope(steps).chain(slope(steps).map(|x| 1.0 - x)).collect();
            let light: Vec<Luminance> = light.into_iter().map(Luminance).collect();
            let changes = Luminances {
                step: STEP,
                light: &light,
            }
            .changes();
            assert_eq!(changes.len(), 2, "{steps}");
            assert_eq!((changes[0].from.0, changes[0].to.0), (0.0, 1.0));
        }
    }

    #[test]
    fn small_movements_within_a_change_do_not_split_it() {
        let light: Vec<f64> = (0..100)
            .map(|n| f64::from(n) / 100.0 + if n % 2 == 0 { 0.04 } else { 0.0 })
            .collect();
        assert_eq!(judged(&light).flashes, 1);
    }

    #[test]
    fn a_change_that_starts_bright_and_ends_dark_counts() {
        let light: Vec<f64> = [0.95, 0.85, 0.5, 0.95].repeat(10);
        assert!(!judged(&light).passes);
    }

    #[test]
    fn the_moment_is_that_of_the_first_change() {
        let light = [vec![0.0; 150], train(5, (5, 5), 0.0, 1.0)].concat();
        assert!((judged(&light).at.0 - 2.5).abs() < 1e-9);
    }

    #[test]
    fn remedies_just_pass() {
        for (on, off) in [(5, 5), (8, 12), (3, 20)] {
            let light: Vec<Luminance> = train(12, (on, off), 0.1, 0.9)
                .into_iter()
                .map(Luminance)
                .collect();
            let course = Luminances {
                step: STEP,
                light: &light,
            };
            let remedy = course.remedy().expect("it fails");
            let slow = |factor: f64| Luminances {
                step: Seconds(STEP.0 * factor),
                ..course
            };
            assert!(slow(remedy.slower * 1.0001).busiest().passes);
            assert!(!slow(remedy.slower * 0.99).busiest().passes);
            let dim = |factor: f64| busiest(&course.changes_scaled(factor)).passes;
            assert!(dim(remedy.dimmer) && !dim(remedy.dimmer + 0.01));
        }
    }
}
