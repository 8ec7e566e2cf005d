//! CIE 1976 lightness.
//!
//! L* is the lightness of the CIE 1976 colour spaces: equal steps in L* look about equal.
//! Formula and constants: CIE 15, Colorimetry; ISO/CIE 11664-4. The two constants are the exact
//! fractions, with which the two branches meet without a gap.
//!
//! Powers and roots here and in the curves come from the crate `libm`, because those of the
//! platform differ in the last digit, and generated code must be the same on every machine.

use crate::units::{Lightness, Luminance};

/// Below this luminance, (6/29)³, lightness is proportional to luminance.
pub const EPSILON: f64 = 216.0 / 24389.0;

/// Lightness per luminance on the proportional branch, (29/3)³.
pub const KAPPA: f64 = 24389.0 / 27.0;

/// The lightness of a luminance: 0 to 100 for 0 to 1.
pub fn lightness(y: Luminance) -> Lightness {
    Lightness(if y.0 <= EPSILON {
        KAPPA * y.0
    } else {
        116.0 * libm::cbrt(y.0) - 16.0
    })
}

/// The luminance of a lightness: 0 to 1 for 0 to 100.
pub fn luminance(l: Lightness) -> Luminance {
    Luminance(if l.0 <= KAPPA * EPSILON {
        l.0 / KAPPA
    } else {
        let root = (l.0 + 16.0) / 116.0;
        root * root * root
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_branches_meet() {
        assert_eq!(KAPPA * EPSILON, 8.0);
        assert!((lightness(Luminance(EPSILON)).0 - 8.0).abs() < 1e-12);
        assert!((lightness(Luminance(EPSILON + 1e-12)).0 - 8.0).abs() < 1e-8);
    }

    #[test]
    fn the_ends_are_exact() {
        assert_eq!(lightness(Luminance(0.0)).0, 0.0);
        assert_eq!(lightness(Luminance(1.0)).0, 100.0);
        assert_eq!(luminance(Lightness(0.0)).0, 0.0);
        assert_eq!(luminance(Lightness(100.0)).0, 1.0);
    }
}
