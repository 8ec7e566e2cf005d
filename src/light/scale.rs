//! The project's brightness levels and the light each of them ideally gives.

use crate::spec::project::{Brightness, Curve};
use crate::units::{DeltaLightness, Level, Lightness, Luminance, Share};

use super::cie;

/// The levels of a project: what light each ideally gives, before any rounding.
///
/// Level 0 is dark. Level i above it sits at the share `floor + i / (n - 1) * (ceiling - floor)` of
/// the curve's scale, so the last level is the ceiling.
#[derive(Debug, Clone)]
pub struct Scale {
    curve: Curve,
    floor: f64,
    ceiling: f64,
    allowed: DeltaLightness,
    /// By level.
    luminances: Vec<Luminance>,
}

impl Scale {
    /// The scale that `brightness` describes.
    pub fn new(brightness: &Brightness) -> Self {
        let count = brightness.levels.value.clamp(2, 256);
        let mut scale = Self {
            curve: brightness.curve.value.clone(),
            floor: brightness.floor.value.0,
            ceiling: brightness.ceiling.value.0,
            allowed: DeltaLightness(brightness.error.value),
            luminances: Vec::new(),
        };
        let top = f64::from(count - 1);
        scale.luminances = (0..count)
            .map(|level| {
                scale
                    .curve
                    .luminance(scale.on_scale(f64::from(level) / top))
            })
            .collect();
        scale
    }

    /// How many levels there are, dark included: 2 to 256.
    pub fn count(&self) -> usize {
        self.luminances.len()
    }

    /// The last level: the ceiling.
    pub fn top(&self) -> Level {
        Level((self.count() - 1) as u8)
    }

    /// All levels, from dark to the ceiling.
    pub fn levels(&self) -> impl DoubleEndedIterator<Item = Level> + use<> {
        (0..=self.top().0).map(Level)
    }

    /// How far a packed level may be from the ideal one.
    pub fn allowed(&self) -> DeltaLightness {
        self.allowed
    }

    /// What a pattern calls this level: 0 is dark, 1 the ceiling.
    pub fn share(&self, level: Level) -> Share {
        Share(f64::from(level.0) / f64::from(self.top().0))
    }

    /// The light that `level` ideally gives.
    ///
    /// # Panics
    /// If the scale has no such level.
    pub fn luminance(&self, level: Level) -> Luminance {
        self.luminances[usize::from(level.0)]
    }

    /// The lightness that `level` ideally has.
    ///
    /// # Panics
    /// If the scale has no such level.
    pub fn lightness(&self, level: Level) -> Lightness {
        cie::lightness(self.luminance(level))
    }

    /// The level nearest to a pattern's share.
    pub fn nearest(&self, share: Share) -> Level {
        let top = f64::from(self.top().0);
        Level((share.0.clamp(0.0, 1.0) * top).round() as u8)
    }

    /// The lightness a pattern's share means, before it is rounded to a level: dark where the
    /// nearest level is dark, and on the curve between floor and ceiling above that.
    pub fn ideal(&self, share: Share) -> Lightness {
        match self.nearest(share) {
            Level(0) => Lightness(0.0),
            _ => cie::lightness(self.curve.luminance(self.on_scale(share.0.clamp(0.0, 1.0)))),
        }
    }

    /// Where on the curve's scale a pattern's share above dark sits; dark stays at 0.
    fn on_scale(&self, share: f64) -> Share {
        match share {
            0.0 => Share(0.0),
            _ => Share(self.floor + share * (self.ceiling - self.floor)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::brightness;
    use super::*;

    #[test]
    fn levels_run_from_dark_to_the_ceiling() {
        let scale = Scale::new(&brightness(Curve::Lightness, 101, 0.0, 0.9));
        assert_eq!(scale.count(), 101);
        assert_eq!(scale.luminance(Level(0)).0, 0.0);
        assert!((scale.lightness(Level(50)).0 - 45.0).abs() < 1e-9);
        assert!((scale.lightness(Level(100)).0 - 90.0).abs() < 1e-9);
    }

    #[test]
    fn a_floor_lifts_the_lit_levels_and_leaves_dark_alone() {
        let scale = Scale::new(&brightness(Curve::Lightness, 11, 0.2, 1.0));
        assert_eq!(scale.lightness(Level(0)).0, 0.0);
        assert!((scale.lightness(Level(1)).0 - 28.0).abs() < 1e-9);
        assert!((scale.lightness(Level(10)).0 - 100.0).abs() < 1e-9);
    }

    #[test]
    fn a_share_below_half_a_level_is_dark() {
        let scale = Scale::new(&brightness(Curve::Lightness, 11, 0.2, 1.0));
        assert_eq!(scale.nearest(Share(0.049)), Level(0));
        assert_eq!(scale.ideal(Share(0.049)).0, 0.0);
        assert_eq!(scale.nearest(Share(0.051)), Level(1));
        assert!((scale.ideal(Share(0.051)).0 - 24.08).abs() < 1e-9);
        assert_eq!(scale.nearest(Share(1.0)), Level(10));
    }

    #[test]
    fn every_level_is_the_nearest_to_its_own_share() {
        let scale = Scale::new(&brightness(Curve::Logarithmic, 256, 0.1, 0.9));
        for level in scale.levels() {
            assert_eq!(scale.nearest(scale.share(level)), level);
        }
    }
}
