//! Where a function crosses zero.

/// How near, relative to the place itself.
const NEAR: f64 = 1e-13;

/// Between `low` and `high`, where `f` has opposite signs or is not finite: halving, and inverse
/// quadratic interpolation wherever that is sure to be better.
///
/// T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a
/// nonlinear function without using derivatives", Advances in Engineering Software 28, 1997.
pub(crate) fn between(low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut a, mut b) = (high, low);
    let (mut at_a, mut at_b) = (f(a), f(b));
    let mut part = 0.5;
    loop {
        let x = a + part * (b - a);
        let at_x = f(x);
        let (c, at_c);
        if (at_x > 0.0) == (at_a > 0.0) {
            (c, at_c) = (a, at_a);
        } else {
            (c, at_c) = (b, at_b);
            (b, at_b) = (a, at_a);
        }
        (a, at_a) = (x, at_x);
        let best = if at_a.abs() < at_b.abs() { a } else { b };
        let nearest = (NEAR * best.abs() + f64::MIN_POSITIVE) / (b - a).abs();
        if nearest > 0.5 || at_a == 0.0 || !nearest.is_finite() {
            return best;
        }
        let (xi, phi) = ((a - b) / (c - b), (at_a - at_b) / (at_c - at_b));
        let sure = phi * phi < xi && (1.0 - phi).powi(2) < 1.0 - xi;
        part = if sure {
            at_a / (at_b - at_a) * at_c / (at_b - at_c)
                + (c - a) / (b - a) * at_a / (at_c - at_a) * at_b / (at_c - at_b)
        } else {
            0.5
        };
        part = part.clamp(nearest, 1.0 - nearest);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_finds_what_is_known() {
        for (low, high, f, root) in [
            (0.0, 2.0, (|x| x * x - 2.0) as fn(f64) -> f64, 2f64.sqrt()),
            (0.0, 1.0, |x| x.cos() - x, 0.739_085_133_215_160_6),
            (0.0, 700.0, |x| x.exp() - 10.0, 10f64.ln()),
            (0.0, 1.0, |x| if x < 0.25 { -1.0 } else { 1.0 }, 0.25),
            (0.0, 3.0, |x| 1.0 / (3.0 - x) - 1.0, 2.0),
        ] {
            let found = between(low, high, f);
            assert!((found - root).abs() < 1e-11, "{found} is not {root}");
        }
    }
}
