//! The polynomial that stays nearest to the middle of every window, by Remez' exchange.
//!
//! On a finite set of points the best approximation in the largest weighted error is the one whose
//! error swings between plus and minus the same size at one point more than it has coefficients
//! (E. W. Cheney, Introduction to Approximation Theory, chapter 3). Starting from any such points,
//! the worst point of all is swapped in until none is worse.

use super::window::Window;

/// Swaps before giving up; about ten suffice.
const MOST_SWAPS: usize = 40;

/// A point to approximate: at `x`, `middle` give or take `half`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Point {
    pub x: f64,
    pub middle: f64,
    pub half: f64,
}

impl Point {
    pub(super) fn new(x: f64, window: &Window) -> Self {
        Self {
            x,
            middle: window.middle(),
            half: window.half(),
        }
    }

    /// How far `polynomial` is off here, in halves: within plus and minus 1 is inside the window.
    fn miss(&self, polynomial: &[f64]) -> f64 {
        (evaluate(polynomial, self.x) - self.middle) / self.half
    }
}

/// The coefficients, constant term first, of the polynomial of `degree` whose largest miss is
/// smallest, and that miss, in halves. `points` rise in x. `None`: too few points.
pub(super) fn best_polynomial(points: &[Point], degree: usize) -> Option<(Vec<f64>, f64)> {
    let mut chosen = spread_out(points.len(), degree + 2)?;
    let mut best = alternating(points, &chosen)?;
    for _ in 0..MOST_SWAPS {
        let (polynomial, swing) = &best;
        let misses: Vec<f64> = points.iter().map(|point| point.miss(polynomial)).collect();
        let worst = (0..points.len()).fold(0, |worst, at| {
            if misses[at].abs() > misses[worst].abs() {
                at
            } else {
                worst
            }
        });
        if misses[worst].abs() <= swing.abs() * (1.0 + 1e-9) {
            break;
        }
        swap_in(&mut chosen, worst, &misses);
        best = alternating(points, &chosen)?;
    }
    Some((best.0, best.1.abs()))
}

fn evaluate(polynomial: &[f64], x: f64) -> f64 {
    polynomial.iter().rev().fold(0.0, |y, c| y * x + c)
}

/// `wanted` of `count` indices, from first to last.
fn spread_out(count: usize, wanted: usize) -> Option<Vec<usize>> {
    (count >= wanted).then(|| {
        (0..wanted)
            .map(|i| i * (count - 1) / (wanted - 1))
            .collect()
    })
}

/// Puts `worst` in the place of a neighbour whose miss has the same sign, so that signs go on
/// alternating; beyond either end, the point at the far end gives way.
fn swap_in(chosen: &mut Vec<usize>, worst: usize, misses: &[f64]) {
    let same_sign = |at: usize| (misses[at] > 0.0) == (misses[worst] > 0.0);
    let after = chosen.partition_point(|&at| at < worst);
    let last = chosen.len() - 1;
    if after == 0 {
        if !same_sign(chosen[0]) {
            chosen.pop();
            chosen.insert(0, worst);
        } else {
            chosen[0] = worst;
        }
    } else if after > last {
        if !same_sign(chosen[last]) {
            chosen.remove(0);
            chosen.push(worst);
        } else {
            chosen[last] = worst;
        }
    } else if same_sign(chosen[after]) {
        chosen[after] = worst;
    } else {
        chosen[after - 1] = worst;
    }
}

/// The polynomial that misses the chosen points by the same swing, up and down in turn, and that
/// swing.
fn alternating(points: &[Point], chosen: &[usize]) -> Option<(Vec<f64>, f64)> {
    let size = chosen.len();
    let rows = chosen.iter().enumerate().map(|(row, &at)| {
        let point = points[at];
        let mut equation = vec![1.0; size + 1];
        for power in 1..size - 1 {
            equation[power] = equation[power - 1] * point.x;
        }
        equation[size - 1] = if row % 2 == 0 {
            point.half
        } else {
            -point.half
        };
        equation[size] = point.middle;
        equation
    });
    let mut solution = solve(rows.collect())?;
    let swing = solution.pop()?;
    Some((solution, swing))
}

/// Gaussian elimination with row exchange; each row ends with its right-hand side.
fn solve(mut rows: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let size = rows.len();
    for column in 0..size {
        let pivot = (column..size)
            .max_by(|&a, &b| rows[a][column].abs().total_cmp(&rows[b][column].abs()))?;
        rows.swap(column, pivot);
        if rows[column][column] == 0.0 {
            return None;
        }
        let (above, below) = rows.split_at_mut(column + 1);
        let base = &above[column];
        for row in below {
            let factor = row[column] / base[column];
            for (value, from) in row.iter_mut().zip(base).skip(column) {
                *value -= factor * from;
            }
        }
    }
    let mut solution = vec![0.0; size];
    for row in (0..size).rev() {
        let known: f64 = (row + 1..size).map(|i| rows[row][i] * solution[i]).sum();
        solution[row] = (rows[row][size] - known) / rows[row][row];
    }
    Some(solution)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(count: usize, law: impl Fn(f64) -> f64) -> Vec<Point> {
        (0..count)
            .map(|i| 2.0 * i as f64 / (count - 1) as f64 - 1.0)
            .map(|x| Point {
                x,
                middle: law(x),
                half: 1.0,
            })
            .collect()
    }

    #[test]
    fn a_polynomial_of_the_degree_is_found_exactly() {
        let (found, _) = best_polynomial(&points(50, |x| 3.0 - x + 2.0 * x * x), 2).unwrap();
        for (found, true_value) in found.iter().zip([3.0, -1.0, 2.0]) {
            assert!((found - true_value).abs() < 1e-9);
        }
    }

    /// The best quadratic for x³ on -1 to 1 is 3/4 x, with the error of Chebyshev's T3 / 4
    /// (Cheney, chapter 3).
    #[test]
    fn the_best_quadratic_for_a_cube_is_chebyshev_s() {
        let (found, _) = best_polynomial(&points(201, |x| x * x * x), 2).unwrap();
        for (found, true_value) in found.iter().zip([0.0, 0.75, 0.0]) {
            assert!((found - true_value).abs() < 1e-9, "{found} {true_value}");
        }
    }

    #[test]
    fn too_few_points_have_no_best_polynomial() {
        assert!(best_polynomial(&points(4, |x| x), 3).is_none());
    }
}
