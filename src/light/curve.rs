//! The laws from a share of the scale to light. To add one: a variant of [`Curve`], a line here.

use crate::spec::project::Curve;
use crate::units::{Lightness, Luminance, Share};

use super::cie;

/// The steps of the logarithmic dimming curve, whose last one is full light (IEC 62386-102).
const LOGARITHMIC_STEPS: f64 = 254.0;

impl Curve {
    /// The luminance at `share` of the scale; 0 at 0, 1 at 1, never falling.
    /// A share outside 0 to 1 counts as the nearer end.
    pub fn luminance(&self, share: Share) -> Luminance {
        let share = share.0.clamp(0.0, 1.0);
        match self {
            Curve::Lightness => cie::luminance(Lightness(share * 100.0)),
            Curve::Power(exponent) => Luminance(libm::pow(share, *exponent)),
            Curve::Logarithmic => logarithmic(share),
            Curve::Square => Luminance(share * share),
            Curve::Linear => Luminance(share),
            Curve::Points(points) => between_points(points, share),
        }
    }
}

/// The dimming curve of IEC 62386-102: step n of 254 gives 10^((n - 1) / (253 / 3) - 1) percent,
/// which is 0.1 % at step 1 and 100 % at step 254. The scale maps to steps as n = 254 · share, so
/// that 255 levels are the standard's own steps. Between dark and step 1 the law is continued
/// (0.097 % is where it would meet dark), so that a scale of more levels still rises.
fn logarithmic(share: f64) -> Luminance {
    if share == 0.0 {
        return Luminance(0.0);
    }
    let step = share * LOGARITHMIC_STEPS;
    let decades = 3.0 * (step - LOGARITHMIC_STEPS) / (LOGARITHMIC_STEPS - 1.0);
    Luminance(libm::pow(10.0, decades))
}

/// Straight lines in lightness between the person's points. It passes through every point, cannot
/// overshoot, and moving a point changes nothing beyond its neighbours; steps between two points
/// look equal; and a law of vision, such as a power law, is nearly straight in lightness, so few
/// points describe it well. Straight lines in luminance would sag between them.
fn between_points(points: &[(Share, Share)], share: f64) -> Luminance {
    let after = points.partition_point(|(at, _)| at.0 < share);
    let Some(&(right, right_light)) = points.get(after) else {
        return Luminance(1.0);
    };
    let (left, left_light) = match after {
        0 => (Share(0.0), Share(0.0)),
        _ => points[after - 1],
    };
    if right.0 <= left.0 || share >= right.0 {
        return Luminance(right_light.0);
    }
    let low = cie::lightness(Luminance(left_light.0)).0;
    let high = cie::lightness(Luminance(right_light.0)).0;
    let along = (share - left.0) / (right.0 - left.0);
    cie::luminance(Lightness(low + along * (high - low)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured() -> Curve {
        Curve::Points(vec![
            (Share(0.0), Share(0.0)),
            (Share(0.25), Share(0.02)),
            (Share(0.75), Share(0.5)),
            (Share(1.0), Share(1.0)),
        ])
    }

    #[test]
    fn points_are_passed_through() {
        for (at, light) in [(0.0, 0.0), (0.25, 0.02), (0.75, 0.5), (1.0, 1.0)] {
            assert!((measured().luminance(Share(at)).0 - light).abs() < 1e-12);
        }
    }

    #[test]
    fn between_two_points_equal_steps_look_equal() {
        let lightness = |share| cie::lightness(measured().luminance(Share(share))).0;
        let middle = (lightness(0.25) + lightness(0.75)) / 2.0;
        assert!((lightness(0.5) - middle).abs() < 1e-9);
    }

    #[test]
    fn a_share_outside_the_scale_counts_as_the_nearer_end() {
        assert_eq!(Curve::Square.luminance(Share(-0.5)).0, 0.0);
        assert_eq!(Curve::Square.luminance(Share(1.5)).0, 1.0);
    }
}
