//! What a fit may do at each level: from which stored value to which the light is close enough.

use crate::units::{DeltaLightness, Level, Lightness};

use super::super::{Depth, FULL, Scale, cie};

/// No lightness is so far from another.
pub(super) const UNUSABLE: f64 = 1e3;

/// The stored values of one level that the chip's cut turns into a close enough duty.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    pub level: Level,
    /// Both included.
    low: f64,
    high: f64,
    /// Nothing outside will do.
    firm: bool,
    ideal: Lightness,
    depth: Depth,
}

impl Window {
    /// The stored values that are within `allowed` of the ideal at `level`. Where the depth is too
    /// coarse for that, the nearest duty is allowed all the same. Dark allows dark alone, and none of
    /// them more than full light.
    fn new(scale: &Scale, depth: Depth, allowed: DeltaLightness, level: Level) -> Self {
        let step = f64::from(depth.step());
        let nearest = f64::from(depth.quantise(scale.luminance(level)).0);
        let ideal = scale.lightness(level);
        let firm = level == Level(0);
        let allowed = if firm { 0.0 } else { allowed.0 };
        let steps = |lightness: f64| {
            cie::luminance(Lightness(lightness.max(0.0))).0 * f64::from(FULL.0) / step
        };
        let low = steps(ideal.0 - allowed).ceil() * step;
        let high = steps(ideal.0 + allowed).floor() * step;
        Self {
            level,
            low: low.min(nearest),
            high: high.max(nearest).min(f64::from(FULL.0)) + step - 1.0,
            firm,
            ideal,
            depth,
        }
    }

    /// The same level, held to the light it should have but for 1/4096 of full light, which no one
    /// sees: for the ceiling, so that 100 % is 100 %.
    pub(super) fn firm(self, scale: &Scale) -> Self {
        let nearest = f64::from(self.depth.quantise(scale.luminance(self.level)).0);
        let above = f64::from(self.depth.step() - 1);
        Self {
            low: (nearest - 16.0).max(self.low),
            high: nearest + above,
            firm: true,
            ..self
        }
    }

    pub(super) fn middle(&self) -> f64 {
        (self.low + self.high) / 2.0
    }

    /// Half its width; never zero.
    pub(super) fn half(&self) -> f64 {
        ((self.high - self.low) / 2.0).max(0.25)
    }

    /// How far from the ideal a stored value turns out, in L*; a value that will not do counts as
    /// more than any that does, by the more the further it is away.
    pub(super) fn error(&self, raw: u16) -> f64 {
        let value = f64::from(raw);
        let limit = f64::from(FULL.0) + f64::from(self.depth.step() - 1);
        let (low, high) = if self.firm {
            (self.low, self.high)
        } else {
            (0.0, limit)
        };
        let outside = (low - value).max(value - high);
        if outside > 0.0 {
            return UNUSABLE + outside;
        }
        (cie::lightness(self.depth.cut(raw).luminance()).0 - self.ideal.0).abs()
    }
}

/// The windows of all levels, by level.
pub(super) fn windows(scale: &Scale, depth: Depth, allowed: DeltaLightness) -> Vec<Window> {
    scale
        .levels()
        .map(|level| Window::new(scale, depth, allowed, level))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::super::testing::brightness;
    use super::*;
    use crate::spec::project::Curve;

    fn of(extra_bits: u8, allowed: f64) -> Vec<Window> {
        let scale = Scale::new(&brightness(Curve::Lightness, 256, 0.0, 1.0));
        windows(&scale, Depth::new(extra_bits), DeltaLightness(allowed))
    }

    #[test]
    fn what_a_window_contains_is_within_the_error() {
        for window in &of(4, 0.3)[1..] {
            let (low, high) = (window.low as u16, window.high as u16);
            assert!(window.error(low) <= 0.3 && window.error(high) <= 0.3);
            assert!(window.error(low - 1) > 0.3 && window.error(high + 1) > 0.3);
        }
    }

    #[test]
    fn a_coarse_depth_leaves_the_nearest_duty() {
        let window = of(0, 0.1)[4];
        assert_eq!((window.low, window.high), (0.0, 255.0));
    }

    #[test]
    fn dark_is_firm_and_nothing_is_above_full() {
        let all = of(4, 0.5);
        assert_eq!(all[0].error(15), 0.0);
        assert!(all[0].error(16) > UNUSABLE);
        assert!(all[254].error(0xFF10) > UNUSABLE);
    }

    #[test]
    fn a_firm_ceiling_is_full_light() {
        let scale = Scale::new(&brightness(Curve::Lightness, 256, 0.0, 1.0));
        let ceiling = of(4, 0.5)[255].firm(&scale);
        assert_eq!(ceiling.error(0xFF00), 0.0);
        assert!(ceiling.error(0xFEEF) > UNUSABLE);
    }
}
