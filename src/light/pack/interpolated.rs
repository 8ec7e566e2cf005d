//! Fitting straight lines between knots.
//!
//! Lawson's algorithm: a weighted least-squares fit, made again and again, the weight of each level
//! multiplied by how far the last fit missed it. It tends to the fit whose largest miss is smallest
//! (C. L. Lawson, Contributions to the theory of linear least maximum approximation, 1961).

use crate::units::Level;

use super::form::Form;
use super::window::Window;

/// Fits; more change nothing that a person could see.
const ROUNDS: usize = 16;

/// Knots every 2^`shift` levels.
pub(super) fn fit(windows: &[Window], shift: u8) -> Option<Form> {
    let spline = Spline {
        windows,
        shift,
        count: knots(windows.last()?.level, shift),
    };
    let mut weights = vec![1.0; windows.len()];
    let mut best: Option<(f64, Vec<f64>)> = None;
    for _ in 0..ROUNDS {
        let knots = spline.least_squares(&weights);
        let misses: Vec<f64> = windows
            .iter()
            .map(|w| spline.miss(&knots, w).abs())
            .collect();
        let largest = misses.iter().copied().fold(0.0, f64::max);
        if best.as_ref().is_none_or(|(least, _)| largest < *least) {
            best = Some((largest, knots));
        }
        if largest == 0.0 {
            break;
        }
        for (weight, miss) in weights.iter_mut().zip(&misses) {
            *weight = (*weight * miss / largest).max(1e-9);
        }
        let heaviest = weights.iter().copied().fold(0.0, f64::max);
        weights.iter_mut().for_each(|weight| *weight /= heaviest);
    }
    best.map(|(_, knots)| Form::Interpolated {
        shift,
        knots: rising(&knots),
    })
}

/// How many knots levels 0 to `top` need: each level one before or at it, and one after.
pub(super) fn knots(top: Level, shift: u8) -> usize {
    usize::from(top.0 >> shift) + 2
}

struct Spline<'a> {
    windows: &'a [Window],
    shift: u8,
    count: usize,
}

impl Spline<'_> {
    /// The knot at or before a level, and how far along to the next one it is.
    fn place(&self, window: &Window) -> (usize, f64) {
        let spacing = 1u8 << self.shift;
        let along = f64::from(window.level.0 % spacing) / f64::from(spacing);
        (usize::from(window.level.0 >> self.shift), along)
    }

    /// How far off the level is, in halves of its window.
    fn miss(&self, knots: &[f64], window: &Window) -> f64 {
        let (left, along) = self.place(window);
        let value = knots[left] * (1.0 - along) + knots[left + 1] * along;
        (value - window.middle()) / window.half()
    }

    /// The knots with the least weighted sum of squared misses. Each level touches two neighbouring
    /// knots, so the normal equations have three diagonals.
    fn least_squares(&self, weights: &[f64]) -> Vec<f64> {
        let mut diagonal = vec![0.0; self.count];
        let mut beside = vec![0.0; self.count];
        let mut right = vec![0.0; self.count];
        for (window, weight) in self.windows.iter().zip(weights) {
            let (left, along) = self.place(window);
            let weight = weight / (window.half() * window.half());
            let (a, b) = (1.0 - along, along);
            diagonal[left] += weight * a * a;
            diagonal[left + 1] += weight * b * b;
            beside[left] += weight * a * b;
            right[left] += weight * a * window.middle();
            right[left + 1] += weight * b * window.middle();
        }
        let end = self.count - 1;
        // Elimination down, substitution up; a knot that no level depends on joins the one before.
        for knot in 1..self.count {
            let factor = beside[knot - 1] / diagonal[knot - 1];
            diagonal[knot] -= factor * beside[knot - 1];
            right[knot] -= factor * right[knot - 1];
        }
        let free = diagonal[end] <= 0.0;
        let mut knots = vec![0.0; self.count];
        for knot in (0..self.count).rev() {
            let next = knots.get(knot + 1).copied().unwrap_or(0.0);
            knots[knot] = match diagonal[knot] {
                d if d > 0.0 => (right[knot] - beside[knot] * next) / d,
                _ => 0.0,
            };
        }
        if free {
            knots[end] = knots[end - 1];
        }
        knots
    }
}

/// Whole knots, none below the one before it; the last one may lie beyond 16 bits, and wraps.
fn rising(knots: &[f64]) -> Vec<u16> {
    let mut floor = 0;
    knots
        .iter()
        .map(|&knot| {
            floor = floor.max(knot.round() as u32);
            floor as u16
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::super::testing::brightness;
    use super::super::super::{Depth, Scale};
    use super::super::window::windows;
    use super::*;
    use crate::spec::project::Curve;
    use crate::units::DeltaLightness;

    fn windows_of(curve: Curve, levels: u16) -> Vec<Window> {
        let scale = Scale::new(&brightness(curve, levels, 0.0, 1.0));
        windows(&scale, Depth::new(8), DeltaLightness(0.1))
    }

    fn largest_error(windows: &[Window], form: &Form) -> f64 {
        windows
            .iter()
            .map(|w| w.error(form.raw(w.level).unwrap()))
            .fold(0.0, f64::max)
    }

    #[test]
    fn a_straight_line_stays_one() {
        let windows = windows_of(Curve::Linear, 65);
        let form = fit(&windows, 4).unwrap();
        // Level 64 is on the fifth knot; the sixth serves no level.
        assert!(matches!(&form, Form::Interpolated { knots, .. } if knots.len() == 6));
        assert!(largest_error(&windows, &form) < 0.1);
    }

    /// A chord that may leave the curve at its ends errs half of one that may not.
    #[test]
    fn knots_off_the_curve_beat_knots_on_it() {
        let windows = windows_of(Curve::Lightness, 256);
        let middles = windows
            .iter()
            .step_by(16)
            .map(|w| w.middle() as u16)
            .chain([65_535]);
        let on_the_curve = Form::Interpolated {
            shift: 4,
            knots: middles.collect(),
        };
        let found = largest_error(&windows, &fit(&windows, 4).unwrap());
        assert!(
            found < 0.6 * largest_error(&windows[..240], &on_the_curve),
            "{found}"
        );
    }
}
