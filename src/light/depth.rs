//! The chip's duty, its depth, and the light it gives.
//!
//! A duty is 8.8 fixed point: whole timer counts, and a fraction that is spread over successive
//! PWM periods. A `Depth` says how many bits of the fraction may be used.

use crate::units::{Duty, Luminance, Share};

/// The most light the chip can make: 255 counts in every PWM period. Relative luminance 1.
///
/// That is 255 of 256 counts in fast PWM, and all counts in phase-correct mode; light is given
/// relative to it, so that a project's levels do not depend on the mode.
pub const FULL: Duty = Duty(0xFF00);

/// How fine a duty may be: 8 bits, and 0 to 8 more that are spread over time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Depth {
    extra_bits: u8,
}

impl Depth {
    /// The depth of plain 8-bit PWM with `extra_bits` spread over time; at most 8 are taken.
    pub fn new(extra_bits: u8) -> Self {
        Self {
            extra_bits: extra_bits.min(8),
        }
    }

    /// Bits that are spread over time: 0 to 8.
    pub fn extra_bits(self) -> u8 {
        self.extra_bits
    }

    /// Bits in all: 8 to 16.
    pub fn bits(self) -> u8 {
        8 + self.extra_bits
    }

    /// What the chip keeps of a duty.
    pub fn mask(self) -> u16 {
        0xFFFF << (8 - self.extra_bits)
    }

    /// The smallest step of a duty: the lowest bit that is kept.
    pub fn step(self) -> u16 {
        1 << (8 - self.extra_bits)
    }

    /// Added before masking, this makes the cut round to nearest: half of [`step`](Self::step).
    pub fn rounding(self) -> u16 {
        self.step() / 2
    }

    /// What the chip makes of a computed duty: the bits below the depth are cut off.
    pub fn cut(self, raw: u16) -> Duty {
        Duty(raw & self.mask())
    }

    /// The duty of this depth nearest to a luminance.
    pub fn quantise(self, y: Luminance) -> Duty {
        let steps = (y.0.clamp(0.0, 1.0) * f64::from(FULL.0) / f64::from(self.step())).round();
        Duty(steps as u16 * self.step())
    }
}

impl Duty {
    /// The light it gives, relative to [`FULL`].
    pub fn luminance(self) -> Luminance {
        Luminance(f64::from(self.0) / f64::from(FULL.0))
    }

    /// The share of time the output is on, where a PWM period has `period` counts:
    /// 256 in fast PWM, 255 in phase-correct mode.
    pub fn on_share(self, period: u16) -> Share {
        Share(f64::from(self.0) / 256.0 / f64::from(period))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_depth_keeps_the_top_bits_of_the_fraction() {
        assert_eq!(Depth::new(0).mask(), 0xFF00);
        assert_eq!(Depth::new(4).mask(), 0xFFF0);
        assert_eq!(Depth::new(8).mask(), 0xFFFF);
        assert_eq!(Depth::new(4).rounding(), 8);
        assert_eq!(Depth::new(8).rounding(), 0);
        assert_eq!(Depth::new(4).bits(), 12);
    }

    #[test]
    fn full_light_is_full_at_every_depth() {
        for extra in 0..=8 {
            let depth = Depth::new(extra);
            assert_eq!(depth.quantise(Luminance(1.0)), FULL);
            assert_eq!(depth.cut(FULL.0 + depth.rounding()), FULL);
            assert_eq!(depth.quantise(Luminance(0.0)), Duty(0));
        }
    }

    #[test]
    fn on_share_counts_the_mode_s_period() {
        assert_eq!(FULL.on_share(256), Share(255.0 / 256.0));
        assert_eq!(FULL.on_share(255), Share(1.0));
    }
}
