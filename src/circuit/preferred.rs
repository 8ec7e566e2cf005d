//! Preferred values of resistors: IEC 60063.

use crate::spec::Series;
use crate::units::{Farads, Ohms, Watts};

/// The series E12 of IEC 60063, one decade.
const E12: &[f64] = &[1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2];
/// The series E24 of IEC 60063, one decade.
const E24: &[f64] = &[
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6,
    6.2, 6.8, 7.5, 8.2, 9.1,
];

/// The value of E12 nearest to a small capacitor's, from 1 pF.
pub(super) fn capacitor(farads: Farads) -> Farads {
    let picofarads = (farads.0 * 1e12).max(1.0);
    let (above, below) = (Series::E12.above(picofarads), Series::E12.below(picofarads));
    let nearest = if above / picofarads < picofarads / below {
        above
    } else {
        below
    };
    Farads(nearest * 1e-12)
}

/// Values that count as the wanted one although floating point is a little off.
const NEAR: f64 = 1e-9;

impl Series {
    fn decade(self) -> &'static [f64] {
        match self {
            Self::E12 => E12,
            Self::E24 => E24,
        }
    }

    /// The smallest value that is not below `ohms`; 1 ohm at least.
    pub fn at_least(self, ohms: Ohms) -> Ohms {
        Ohms(self.above(ohms.0))
    }

    /// The largest value that is not above `ohms`; 1 ohm at least.
    pub fn at_most(self, ohms: Ohms) -> Ohms {
        Ohms(self.below(ohms.0))
    }

    fn above(self, wanted: f64) -> f64 {
        let wanted = wanted.max(1.0) * (1.0 - NEAR);
        self.values()
            .find(|value| *value >= wanted)
            .expect("the last value is infinite")
    }

    fn below(self, wanted: f64) -> f64 {
        let wanted = wanted * (1.0 + NEAR);
        self.values()
            .take_while(|value| *value <= wanted && value.is_finite())
            .last()
            .unwrap_or(1.0)
    }

    /// All values from 1 to 10 millions of a unit, then infinity.
    fn values(self) -> impl Iterator<Item = f64> {
        let decades = (0..7).map(|decade| 10f64.powi(decade));
        decades
            .flat_map(move |decade| self.decade().iter().map(move |value| value * decade))
            .chain([1e7, f64::INFINITY])
    }
}

/// Usual ratings of resistors.
const RATINGS: [Watts; 7] = [
    Watts(0.125),
    Watts(0.25),
    Watts(0.5),
    Watts(1.0),
    Watts(2.0),
    Watts(5.0),
    Watts(10.0),
];

/// A resistor is used at half of its rating (common practice, no source).
const DERATING: f64 = 0.5;

/// The smallest usual rating for this much heat; `None`: more than any.
pub(super) fn rating(heat: Watts) -> Option<Watts> {
    RATINGS
        .into_iter()
        .find(|rating| heat.0 <= rating.0 * DERATING)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_found_on_either_side() {
        assert_eq!(Series::E12.at_least(Ohms(150.0)), Ohms(150.0));
        assert_eq!(Series::E12.at_least(Ohms(151.0)), Ohms(180.0));
        assert_eq!(Series::E24.at_least(Ohms(151.0)), Ohms(160.0));
        assert_eq!(Series::E12.at_least(Ohms(8300.0)), Ohms(10_000.0));
        assert_eq!(Series::E12.at_least(Ohms(0.0)), Ohms(1.0));
        assert_eq!(Series::E12.at_most(Ohms(149.0)), Ohms(120.0));
        assert_eq!(Series::E24.at_most(Ohms(149.0)), Ohms(130.0));
        assert_eq!(Series::E12.at_most(Ohms(0.3)), Ohms(1.0));
    }

    #[test]
    fn capacitors_are_the_nearest() {
        for (wanted, usual) in [(19.0, 18.0), (76.0, 82.0), (0.4, 1.0), (1009.0, 1000.0)] {
            let found = capacitor(Farads(wanted * 1e-12)).0 * 1e12;
            assert!((found - usual).abs() < 1e-6, "{wanted}: {found}");
        }
    }

    /// IEC 60063: within one rounding the values are a geometric series, so no gap is wider than
    /// the tolerance that the series is named for.
    #[test]
    fn gaps_are_what_the_standard_gives() {
        for (series, widest) in [(Series::E12, 1.26), (Series::E24, 1.16)] {
            let values: Vec<f64> = series.values().collect();
            for pair in values.windows(2).take_while(|pair| pair[1].is_finite()) {
                assert!(pair[1] / pair[0] < widest, "{pair:?}");
            }
        }
        assert_eq!(Series::E12.decade().len(), 12);
        assert_eq!(Series::E24.decade().len(), 24);
        // Every other value of E24 is in E12.
        assert!(E24.iter().step_by(2).eq(E12));
    }

    #[test]
    fn ratings_have_a_factor_of_two_in_hand() {
        assert_eq!(rating(Watts(0.06)), Some(Watts(0.125)));
        assert_eq!(rating(Watts(0.07)), Some(Watts(0.25)));
        assert_eq!(rating(Watts(9.0)), None);
    }
}
