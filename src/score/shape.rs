//! The courses of fades and waves, as functions from 0..1 to 0..1.

use crate::spec::{Ease, Shape};

/// How far a fade has come (0 to 1) when the share `x` of its time has passed.
pub(super) fn eased(ease: Ease, x: f64) -> f64 {
    match ease {
        Ease::Linear => x,
        Ease::Soft => x * x * (3.0 - 2.0 * x),
        Ease::SoftIn => x * x,
        Ease::SoftOut => x * (2.0 - x),
    }
}

/// The height (0 low, 1 high) of a wave at `phase`, in periods; any real number.
pub(super) fn wave(shape: Shape, phase: f64) -> f64 {
    let x = phase.rem_euclid(1.0);
    match shape {
        Shape::Sine => 0.5 - 0.5 * libm::cos(std::f64::consts::TAU * x),
        Shape::Triangle => 1.0 - (2.0 * x - 1.0).abs(),
        Shape::Saw => x,
        Shape::Square => f64::from(x < 0.5),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_ease_starts_at_0_and_ends_at_1_and_never_turns_back() {
        for ease in [Ease::Linear, Ease::Soft, Ease::SoftIn, Ease::SoftOut] {
            assert_eq!(eased(ease, 0.0), 0.0);
            assert_eq!(eased(ease, 1.0), 1.0);
            for i in 0..100 {
                assert!(eased(ease, f64::from(i + 1) / 100.0) >= eased(ease, f64::from(i) / 100.0));
            }
        }
    }

    #[test]
    fn sine_and_triangle_are_high_half_way_and_low_at_the_ends() {
        for shape in [Shape::Sine, Shape::Triangle] {
            assert!(wave(shape, 0.0).abs() < 1e-12);
            assert!((wave(shape, 0.5) - 1.0).abs() < 1e-12);
            assert!((wave(shape, 0.25) - 0.5).abs() < 1e-12);
        }
    }

    #[test]
    fn a_wave_repeats_with_its_period() {
        for shape in [Shape::Sine, Shape::Triangle, Shape::Saw, Shape::Square] {
            assert!((wave(shape, 0.3) - wave(shape, 5.3)).abs() < 1e-9);
            assert!((wave(shape, 0.7) - wave(shape, -0.3)).abs() < 1e-9);
        }
    }
}
