//! Fitting the closed forms: real coefficients first, then the whole numbers the chip uses.

use super::super::{Scale, cie};
use super::HOPELESS;
use super::form::{Argument, Form};
use super::remez::{Point, best_polynomial};
use super::window::{UNUSABLE, Window};

/// Where the search for whole coefficients starts: moves of so much, then of half of it, down to 1.
const FIRST_MOVE: i32 = 64;

/// Rounds of moves before giving up; a dozen suffice.
const MOST_ROUNDS: usize = 40;

/// The round by which something usable must be found.
const USABLE_BY: usize = 4;

/// Only what makes the error smaller by this factor counts as better.
const PROGRESS: f64 = 0.99;

/// The largest coefficient, added or subtracted.
const LIMIT: f64 = 65_535.0;

/// Which coefficients a fit may use. Subtracting costs code, so it is only done where it helps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Signs {
    /// None is negative.
    Positive,
    /// At least one is negative.
    Mixed,
}

/// A polynomial of `degree` through the windows, or as near to their middles as one can.
/// Without the window of level 0, dark need not come out of it.
pub(super) fn fit(
    scale: &Scale,
    windows: &[Window],
    argument: Argument,
    degree: usize,
    signs: Signs,
) -> Option<Form> {
    let windows = with_firm_ceiling(scale, windows);
    let coefficients = coefficients(argument, &windows, degree, signs)?;
    Some(Form::Polynomial {
        argument,
        coefficients,
    })
}

/// A line up to where lightness is proportional to luminance, and a cubic above.
pub(super) fn fit_kneed(scale: &Scale, windows: &[Window], argument: Argument) -> Option<Form> {
    let knee = scale
        .levels()
        .find(|&level| scale.luminance(level).0 > cie::EPSILON)?;
    let windows = with_firm_ceiling(scale, windows);
    let (below, above) = windows.split_at(usize::from(knee.0));
    let line = coefficients(argument, below, 1, Signs::Positive)?
        .try_into()
        .ok()?;
    let coefficients = coefficients(argument, above, 3, Signs::Positive)?;
    Some(Form::Kneed {
        argument,
        knee,
        line,
        coefficients,
    })
}

/// The windows, the last of them firm.
fn with_firm_ceiling(scale: &Scale, windows: &[Window]) -> Vec<Window> {
    let mut windows = windows.to_vec();
    if let Some(ceiling) = windows.last_mut() {
        *ceiling = ceiling.firm(scale);
    }
    windows
}

/// Whole coefficients, constant first. `None`: there are none that come near, or none with these
/// `signs`.
fn coefficients(
    argument: Argument,
    windows: &[Window],
    degree: usize,
    signs: Signs,
) -> Option<Vec<i32>> {
    let points: Vec<Point> = windows
        .iter()
        .map(|window| Point::new(argument.value(window.level), window))
        .collect();
    let (mut real, miss) = best_polynomial(&points, degree)?;
    if miss > HOPELESS {
        return None;
    }
    // Each product is rounded down, which takes half a unit on average.
    real[0] += 0.5 * degree as f64;
    let mut start = real
        .iter()
        .map(|&c| whole(c))
        .collect::<Option<Vec<i32>>>()?;
    if *start.last()? <= 0 || (signs == Signs::Mixed && start.iter().all(|&c| c >= 0)) {
        return None;
    }
    if signs == Signs::Positive {
        start.iter_mut().for_each(|c| *c = (*c).max(0));
    }
    refined(argument, windows, start)
}

/// `c` as the chip's number, if it can be one.
fn whole(c: f64) -> Option<i32> {
    let rounded = c.round();
    (-LIMIT..=LIMIT)
        .contains(&rounded)
        .then_some(rounded as i32)
}

/// Moves the coefficients about, by less and less, as long as the largest error becomes smaller;
/// none changes its sign. Rounding moved them off the best place, and the chip's own roundings are
/// not in the real fit. `None`: no choice nearby is usable at every level.
fn refined(argument: Argument, windows: &[Window], start: Vec<i32>) -> Option<Vec<i32>> {
    let mut trial = Trial {
        argument,
        windows,
        hard: 0,
    };
    let mut error = trial.error(&start, f64::INFINITY)?;
    let mut best = start;
    let mut by = FIRST_MOVE;
    for round in 0..MOST_ROUNDS {
        let before = error;
        for moved in moves(&best, by) {
            if let Some(smaller) = trial.error(&moved, error * PROGRESS) {
                (best, error) = (moved, smaller);
            }
        }
        if error == before {
            by /= 2;
        }
        if by == 0 || (round == USABLE_BY && error >= UNUSABLE) {
            break;
        }
    }
    (error < UNUSABLE).then_some(best)
}

/// Every way to move each of `coefficients` by -`by`, 0 or `by`.
fn moves(coefficients: &[i32], by: i32) -> impl Iterator<Item = Vec<i32>> + use<> {
    let from = coefficients.to_vec();
    (1..3usize.pow(from.len() as u32)).map(move |ways| {
        let mut ways = ways;
        let mut moved = from.clone();
        for c in &mut moved {
            let to = [*c, *c + by, *c - by][ways % 3];
            *c = if *c < 0 { to.min(-1) } else { to.max(0) };
            ways /= 3;
        }
        moved
    })
}

/// Tries coefficients against the windows.
struct Trial<'a> {
    argument: Argument,
    windows: &'a [Window],
    /// The window that the last trial failed at, tried first in the next: most trials fail there.
    hard: usize,
}

impl Trial<'_> {
    /// The largest error, if it is below `limit`.
    fn error(&mut self, coefficients: &[i32], limit: f64) -> Option<f64> {
        self.error_at(self.hard, coefficients, limit)?;
        let mut largest = 0.0f64;
        for at in 0..self.windows.len() {
            let Some(error) = self.error_at(at, coefficients, limit) else {
                self.hard = at;
                return None;
            };
            largest = largest.max(error);
        }
        Some(largest)
    }

    fn error_at(&self, at: usize, coefficients: &[i32], limit: f64) -> Option<f64> {
        let window = &self.windows[at];
        let error = match self.argument.evaluate(coefficients, window.level) {
            Some(raw) => window.error(raw),
            None => UNUSABLE + self.argument.excess(coefficients, window.level),
        };
        Some(error).filter(|&error| error < limit)
    }
}
