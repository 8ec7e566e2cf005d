//! The colour of light on a screen.
//!
//! ```text
//! kelvin ─Planck─┐
//! nanometres ────┴─CIE 1931→ X, Y, Z ─IEC 61966-2-1→ linear red, green, blue ─mapped→ Tint
//! ```
//!
//! A screen's colours are a part of all: of a primary that would have to be less than none, a lamp has none. How
//! bright it is, its level says: the greatest primary is full.

mod observer;

use std::fmt;

use crate::spec::Glow;
use crate::units::{Kelvin, Luminance, Nanometres};

/// A colour for a screen: sRGB, 8 bits each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct Tint(pub [u8; 3]);

/// From CIE X, Y and Z to linear red, green and blue: IEC 61966-2-1.
const TO_SCREEN: [[f64; 3]; 3] = [
    [3.240_625_5, -1.537_208, -0.498_628_6],
    [-0.968_930_7, 1.875_756_1, 0.041_517_5],
    [0.055_710_1, -0.204_021_1, 1.056_995_9],
];

impl Tint {
    /// What comes nearest to a light, at its full brightness.
    pub fn of(glow: Glow) -> Self {
        Self::brightest(match glow {
            Glow::White(temperature) => screen(black_body(temperature)),
            Glow::Pure(wavelength) => screen(observer::at(wavelength)),
            Glow::Screen(colour) => colour.map(|code| linear(f64::from(code) / 255.0)),
        })
    }

    /// Of linear red, green and blue, not all of them zero or less.
    fn brightest(light: [f64; 3]) -> Self {
        let most = light.into_iter().fold(0.0, f64::max);
        Self(light.map(|part| (encoded((part / most).max(0.0)) * 255.0).round() as u8))
    }

    /// This colour with as much of its light, as a screen shows it.
    pub fn dimmed(self, light: Luminance) -> Self {
        self.changed(|full| full * light.0.clamp(0.0, 1.0))
    }

    /// Half way to white.
    pub fn paler(self) -> Self {
        self.changed(|full| (full + 1.0) / 2.0)
    }

    fn changed(self, change: impl Fn(f64) -> f64) -> Self {
        Self(self.0.map(|code| {
            let linear = linear(f64::from(code) / 255.0);
            (encoded(change(linear)) * 255.0).round() as u8
        }))
    }
}

impl fmt::Display for Tint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self([red, green, blue]) = self;
        write!(f, "#{red:02x}{green:02x}{blue:02x}")
    }
}

/// CIE X, Y and Z of a black body, in any unit: Planck's law, summed as CIE 15 has it, over the table.
fn black_body(temperature: Kelvin) -> [f64; 3] {
    let mut sum = [0.0; 3];
    for (wavelength, seen) in observer::rows() {
        let power = planck(wavelength, temperature);
        for (sum, seen) in sum.iter_mut().zip(seen) {
            *sum += power * seen;
        }
    }
    sum
}

/// Power of each wavelength, over that at 560 nm: Planck's law. Its second constant, h·c/k, is exact in the SI.
fn planck(wavelength: Nanometres, temperature: Kelvin) -> f64 {
    const SECOND: f64 = 1.438_776_877e-2;
    const MIDDLE: f64 = 560.0;
    let of = |nanometres: f64| libm::exp(SECOND / (nanometres * 1e-9 * temperature.0)) - 1.0;
    libm::pow(MIDDLE / wavelength.0, 5.0) * of(MIDDLE) / of(wavelength.0)
}

fn screen(seen: [f64; 3]) -> [f64; 3] {
    TO_SCREEN.map(|row| row.iter().zip(seen).map(|(share, seen)| share * seen).sum())
}

/// sRGB to light: IEC 61966-2-1.
fn linear(code: f64) -> f64 {
    if code <= 0.04045 {
        code / 12.92
    } else {
        libm::pow((code + 0.055) / 1.055, 2.4)
    }
}

/// Light to sRGB: IEC 61966-2-1.
fn encoded(light: f64) -> f64 {
    if light <= 0.003_130_8 {
        light * 12.92
    } else {
        1.055 * libm::pow(light, 1.0 / 2.4) - 0.055
    }
}

#[cfg(test)]
mod tests {
    use palette::{LinSrgb, Srgb, Xyz};

    use super::*;

    const WAVELENGTHS: [(f64, [f64; 2]); 7] = [
        (382.0, [0.17407, 0.00497]),
        (412.0, [0.17240, 0.00480]),
        (472.0, [0.11870, 0.06783]),
        (507.0, [0.00601, 0.69612]),
        (527.0, [0.13055, 0.81893]),
        (592.0, [0.58665, 0.41276]),
        (627.0, [0.70371, 0.29622]),
    ];

    const TINTS: [(Glow, [u8; 3]); 9] = [
        (Glow::White(Kelvin(1850.0)), [255, 129, 0]),
        (Glow::White(Kelvin(2700.0)), [255, 173, 89]),
        (Glow::White(Kelvin(4000.0)), [255, 211, 165]),
        (Glow::White(Kelvin(6500.0)), [255, 248, 254]),
        (Glow::Pure(Nanometres(410.0)), [112, 0, 255]),
        (Glow::Pure(Nanometres(470.0)), [0, 45, 255]),
        (Glow::Pure(Nanometres(525.0)), [0, 255, 0]),
        (Glow::Pure(Nanometres(592.0)), [255, 112, 0]),
        (Glow::Pure(Nanometres(625.0)), [255, 0, 0]),
    ];

    fn chromaticity([x, y, z]: [f64; 3]) -> [f64; 2] {
        [x / (x + y + z), y / (x + y + z)]
    }

    fn close(found: [f64; 2], wanted: [f64; 2], within: f64) {
        for (found, wanted) in found.into_iter().zip(wanted) {
            assert!((found - wanted).abs() < within, "{found} is not {wanted}");
        }
    }

    /// Chromaticities of the Planckian locus: for illuminant A, ISO 11664-2 (2856 K with a second constant of
    /// 1.4388e-2 m·K); for the others, `colour-science` 0.4.7, with the observer every 1 nm from 360 nm to 830 nm.
    #[test]
    fn a_black_body_is_where_others_find_it() {
        close(
            chromaticity(black_body(Kelvin(2856.0))),
            [0.44757, 0.40745],
            1e-4,
        );
        for (temperature, wanted) in [
            (1000.0, [0.65275, 0.34446]),
            (1850.0, [0.54347, 0.40983]),
            (2700.0, [0.45986, 0.41060]),
            (4000.0, [0.38044, 0.37675]),
            (6500.0, [0.31353, 0.32363]),
            (20_000.0, [0.25646, 0.25763]),
        ] {
            close(chromaticity(black_body(Kelvin(temperature))), wanted, 1e-4);
        }
    }

    /// Between the rows of the table, against the observer at 1 nm of `colour-science` 0.4.7. Straight
    /// lines cut the corner where the locus bends most, by 0.002 at 507 nm.
    #[test]
    fn a_wavelength_is_where_others_find_it() {
        for (wavelength, wanted) in WAVELENGTHS {
            let found = chromaticity(observer::at(Nanometres(wavelength)));
            close(found, wanted, 3e-3);
        }
    }

    /// All that the rule leaves as it is, and what it cuts off, with `palette` for everything from X, Y and Z on.
    #[test]
    fn a_tint_is_what_palette_makes_of_it() {
        let whites = [1000.0, 1850.0, 2700.0, 4000.0, 5700.0, 6500.0, 20_000.0];
        let whites = whites.map(|kelvin| (Glow::White(Kelvin(kelvin)), black_body(Kelvin(kelvin))));
        let pure = [380.0, 410.0, 470.0, 505.0, 525.0, 592.0, 625.0, 780.0].map(Nanometres);
        let pure = pure.map(|at| (Glow::Pure(at), observer::at(at)));
        for (light, [x, y, z]) in whites.into_iter().chain(pure) {
            let there: LinSrgb<f64> =
                palette::convert::FromColorUnclamped::from_color_unclamped(Xyz::<
                    palette::white_point::D65,
                    f64,
                >::new(
                    x, y, z
                ));
            let parts = [there.red, there.green, there.blue].map(|part| part.max(0.0));
            let most = parts.into_iter().fold(0.0, f64::max);
            let [red, green, blue] = parts.map(|part| part / most);
            let there: Srgb<u8> =
                Srgb::<f64>::from_linear(LinSrgb::new(red, green, blue)).into_format();
            let Tint(found) = Tint::of(light);
            for (found, there) in found.into_iter().zip([there.red, there.green, there.blue]) {
                assert!(
                    found.abs_diff(there) <= 1,
                    "{light}: {found} is not {there}"
                );
            }
        }
    }

    /// `colour-science` 0.4.7, all the way, by the same rule.
    #[test]
    fn a_tint_is_what_colour_science_makes_of_it() {
        for (light, there) in TINTS {
            let Tint(found) = Tint::of(light);
            for (found, there) in found.into_iter().zip(there) {
                assert!(
                    found.abs_diff(there) <= 2,
                    "{light}: {found} is not {there}"
                );
            }
        }
    }

    #[test]
    fn a_screens_own_colour_is_as_bright_as_it_goes() {
        assert_eq!(Tint::of(Glow::Screen([255, 176, 80])), Tint([255, 176, 80]));
        assert_eq!(Tint::of(Glow::Screen([0, 0, 1])), Tint([0, 0, 255]));
    }

    /// Against the crate `palette`.
    #[test]
    fn dimming_is_in_linear_light() {
        for light in [0.0, 0.001, 0.01, 0.18, 0.5, 0.9, 1.0] {
            let full: LinSrgb<f64> = Srgb::new(255_u8, 197, 143).into_linear();
            let there: Srgb<u8> = Srgb::<f64>::from_linear(full * light).into_format();
            let Tint(found) = Tint([255, 197, 143]).dimmed(Luminance(light));
            assert_eq!(found, [there.red, there.green, there.blue], "{light}");
        }
    }
}
