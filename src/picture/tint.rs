//! The colour of a string's light.

use crate::design::Design;
use crate::spec::Colour;
use crate::units::Luminance;

/// A colour for a screen: sRGB, 8 bits each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Tint(pub [u8; 3]);

/// The colour of a channel at its full light: of its LEDs, or warm white, which most strings of lights are.
pub fn tint(design: &Design, channel: usize) -> Tint {
    let strings = &design.project.electrics.strings;
    let string = strings.get(channel).and_then(Option::as_ref);
    let colour = string.and_then(|string| string.colour);
    Tint::of(colour.unwrap_or(Colour::WarmWhite))
}

impl Tint {
    /// The nearest that a screen has: a white's correlated colour temperature (2700 K and 6500 K), a dominant
    /// wavelength's hue at full saturation (CIE 1931 to sRGB, cut to what a screen can show; by eye and from memory).
    fn of(colour: Colour) -> Self {
        Self(match colour {
            Colour::WarmWhite => [255, 197, 143],
            Colour::White => [255, 249, 253],
            Colour::Red => [255, 40, 20],
            Colour::Orange => [255, 105, 0],
            Colour::Amber => [255, 165, 0],
            Colour::Yellow => [255, 200, 0],
            Colour::Green => [40, 255, 90],
            Colour::Blue => [40, 110, 255],
        })
    }
}

impl Tint {
    /// This colour with as much of its light, as a screen shows it.
    pub fn dimmed(self, light: Luminance) -> Self {
        Self(self.0.map(|full| {
            let linear = linear(f64::from(full) / 255.0) * light.0.clamp(0.0, 1.0);
            (encoded(linear) * 255.0).round() as u8
        }))
    }
}

/// sRGB to light: IEC 61966-2-1.
fn linear(code: f64) -> f64 {
    if code <= 0.04045 {
        code / 12.92
    } else {
        ((code + 0.055) / 1.055).powf(2.4)
    }
}

/// Light to sRGB: IEC 61966-2-1.
fn encoded(light: f64) -> f64 {
    if light <= 0.003_130_8 {
        light * 12.92
    } else {
        1.055 * light.powf(1.0 / 2.4) - 0.055
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the crate `palette`.
    #[test]
    fn dimming_is_in_linear_light() {
        use palette::{LinSrgb, Srgb};
        for light in [0.0, 0.001, 0.01, 0.18, 0.5, 0.9, 1.0] {
            let full: LinSrgb<f64> = Srgb::new(255_u8, 197, 143).into_linear();
            let there: Srgb<u8> = Srgb::<f64>::from_linear(full * light).into_format();
            let Tint(found) = Tint::of(Colour::WarmWhite).dimmed(Luminance(light));
            assert_eq!(found, [there.red, there.green, there.blue], "{light}");
        }
    }
}
