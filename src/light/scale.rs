//! The project's brightness levels and the light each of them ideally gives.

use crate::spec::project::{Brightness, Curve};
use crate::units::{DeltaLightness, Level, Lightness, Luminance, Share};

use super::cie;

/// The levels of a project: what light each ideally gives, before any rounding.
///
/// Level 0 is dark, level 1 the floor, the last one the ceiling; between those two the levels are
/// equal steps of the curve's scale. Without a floor they are equal steps from dark.
#[derive(Debug, Clone)]
pub struct Scale {
    curve: Curve,
    /// Of level 1; `None`: the first of equal steps from dark.
    floor: Option<f64>,
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
            floor: Some(brightness.floor.value.0).filter(|floor| *floor > 0.0),
            ceiling: brightness.ceiling.value.0,
            allowed: DeltaLightness(brightness.error.value),
            luminances: Vec::new(),
        };
        let top = f64::from(count - 1);
        scale.luminances = (0..count)
            .map(|level| {
                let share = scale.on_scale(f64::from(level), top);
                scale.curve.luminance(share)
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
    pub fn levels(&self) -> impl DoubleEndedIterator<Item = Level> + Clone + use<> {
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

    /// Where on the curve a level is, as `floor` and `ceiling` are given.
    pub fn on_curve(&self, level: Level) -> Share {
        self.on_scale(f64::from(level.0), f64::from(self.top().0))
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
            _ => {
                let top = f64::from(self.top().0);
                let share = self.on_scale(share.0.clamp(0.0, 1.0) * top, top);
                cie::lightness(self.curve.luminance(share))
            }
        }
    }

    /// Where on the curve's scale a level sits, which may lie between two; dark stays at 0.
    fn on_scale(&self, level: f64, top: f64) -> Share {
        match self.floor {
            _ if level == 0.0 => Share(0.0),
            Some(floor) if top > 1.0 => {
                let up = (level.max(1.0) - 1.0) / (top - 1.0);
                Share(floor + up * (self.ceiling - floor))
            }
            _ => Share(level / top * self.ceiling),
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
    fn the_floor_is_the_lowest_lit_level_and_leaves_dark_alone() {
        let scale = Scale::new(&brightness(Curve::Lightness, 11, 0.2, 1.0));
        assert_eq!(scale.lightness(Level(0)).0, 0.0);
        assert!((scale.lightness(Level(1)).0 - 20.0).abs() < 1e-9);
        assert!((scale.lightness(Level(2)).0 - 28.888_888_888_9).abs() < 1e-9);
        assert!((scale.lightness(Level(10)).0 - 100.0).abs() < 1e-9);
    }

    /// CIE 15, 8.2.1.1: L* = 116 (Y/Yn)^(1/3) - 16 above Y/Yn = (24/116)^3, so 10 % of the scale is
    /// a luminance of ((10 + 16) / 116)^3.
    #[test]
    fn few_levels_begin_at_the_floor_and_end_at_the_ceiling() {
        let scale = Scale::new(&brightness(Curve::Lightness, 4, 0.1, 1.0));
        for (level, wanted) in [(0, 0.0), (1, 10.0), (2, 55.0), (3, 100.0)] {
            let found = scale.lightness(Level(level)).0;
            assert!((found - wanted).abs() < 1e-9, "level {level}: {found}");
        }
        let floor = scale.luminance(Level(1)).0;
        assert!((floor - (26.0_f64 / 116.0).powi(3)).abs() < 1e-9);
    }

    #[test]
    fn a_share_below_half_a_level_is_dark() {
        let scale = Scale::new(&brightness(Curve::Lightness, 11, 0.2, 1.0));
        assert_eq!(scale.nearest(Share(0.049)), Level(0));
        assert_eq!(scale.ideal(Share(0.049)).0, 0.0);
        assert_eq!(scale.nearest(Share(0.051)), Level(1));
        assert!((scale.ideal(Share(0.051)).0 - 20.0).abs() < 1e-9);
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
