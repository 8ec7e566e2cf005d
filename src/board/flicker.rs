//! Flicker: what IEEE Std 1789-2015 says of a modulation at a frequency.
//!
//! Its recommended practices limit the modulation, (most − least) / (most + least) of the light, by
//! frequency f in hertz:
//!
//! | | below 90 Hz | from 90 Hz | without limit |
//! |---|---|---|---|
//! | low risk | 0.025 · f % | 0.08 · f % | above 1250 Hz |
//! | no observable effect | 0.01 · f % | f / 30 % | above 3000 Hz |
//!
//! Source: IEEE Std 1789-2015, 8.1.1, 'Recommended Practice 1' and '2' (from memory). A dithered
//! level has several components; each is held against the limit at its own frequency.

use std::cmp::Ordering;

use serde::Serialize;

use crate::drive::timer::Dither;
use crate::drive::{Drive, Pulse, PwmPlan, Way};
use crate::units::{Duty, Hertz, Share, Volts};

/// A periodic part of the light.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Component {
    pub frequency: Hertz,
    /// 0 to 1.
    pub modulation: Share,
}

/// What the standard says of a component. In order of harm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Risk {
    NoEffect,
    Low,
    /// Beyond both limits.
    High,
}

/// The most modulation with no observable effect.
pub fn no_effect_limit(frequency: Hertz) -> Share {
    limit(frequency, 0.01, 1.0 / 30.0, 3000.0)
}

/// The most modulation with a low risk.
pub fn low_risk_limit(frequency: Hertz) -> Share {
    limit(frequency, 0.025, 0.08, 1250.0)
}

fn limit(Hertz(f): Hertz, below: f64, above: f64, free: f64) -> Share {
    let percent = match f {
        f if f < 90.0 => below * f,
        f if f <= free => above * f,
        _ => 100.0,
    };
    Share((percent / 100.0).min(1.0))
}

/// Room for rounding: a modulation that equals the limit passes.
const NEAR: f64 = 1e-9;

impl Component {
    pub fn risk(self) -> Risk {
        match self.modulation.0 - NEAR {
            modulation if modulation <= no_effect_limit(self.frequency).0 => Risk::NoEffect,
            modulation if modulation <= low_risk_limit(self.frequency).0 => Risk::Low,
            _ => Risk::High,
        }
    }

    /// Modulation over the low-risk limit: above 1 it is too much.
    pub fn strain(self) -> f64 {
        self.modulation.0 / low_risk_limit(self.frequency).0
    }

    /// The less harmful one first.
    pub fn by_harm(&self, other: &Self) -> Ordering {
        let strain = self.strain().total_cmp(&other.strain());
        self.risk().cmp(&other.risk()).then(strain)
    }

    /// The same with the clock this much faster.
    pub fn at_clock(self, factor: f64) -> Self {
        Self {
            frequency: Hertz(self.frequency.0 * factor),
            ..self
        }
    }
}

/// Components weaker than this are left out.
const FAINT: f64 = 1e-4;

/// The components of the light at a duty that comes to its pin this way, at the clock that was planned.
pub fn components(duty: Duty, way: Way, drive: &Drive) -> Vec<Component> {
    match (way, drive.timer(), drive.planes()) {
        (Way::Output(_), Some(timer), _) => dithered(duty, drive.pwm(), timer.dither),
        (Way::Planes, _, Some((planes, _))) => {
            let frames = f64::from(planes.frame().0) / f64::from(drive.pwm().length.0);
            of_pulses(&planes.shown(duty), Hertz(drive.pwm().frequency.0 / frames))
        }
        _ => Vec::new(),
    }
}

/// Of the harmonics of a course that comes round `frequency` times a second, so many.
const HARMONICS: u32 = 16;

/// Those of pulses whose course comes round with a frequency: its Fourier series, relative to the mean.
pub fn of_pulses(pulses: &[Pulse], frequency: Hertz) -> Vec<Component> {
    let on: u32 = pulses.iter().map(|pulse| pulse.on.0).sum();
    let length: u32 = on + pulses.iter().map(|pulse| pulse.off.0).sum::<u32>();
    if on == 0 || on == length {
        return Vec::new();
    }
    let turn = std::f64::consts::TAU / f64::from(length);
    let strength = |harmonic: u32| {
        let turn = turn * f64::from(harmonic);
        // A pulse from a to b adds (e^-ija - e^-ijb) / j, j the harmonic's angular frequency.
        let (mut real, mut imaginary, mut at) = (0.0, 0.0, 0);
        for pulse in pulses {
            let [from, to] = [at, at + pulse.on.0].map(|cycle| f64::from(cycle) * turn);
            real += libm::sin(to) - libm::sin(from);
            imaginary += libm::cos(to) - libm::cos(from);
            at += pulse.on.0 + pulse.off.0;
        }
        2.0 * libm::hypot(real, imaginary) / turn / f64::from(on)
    };
    let component = |harmonic: u32| Component {
        frequency: Hertz(frequency.0 * f64::from(harmonic)),
        modulation: Share(strength(harmonic).min(1.0)),
    };
    let all = (1..=HARMONICS).map(component);
    all.filter(|component| component.modulation.0 > FAINT)
        .collect()
}

/// Those of dithered pulses: the PWM itself, taken as fully modulated, and what the
/// dither adds below it. The dither's amplitudes are those of the Fourier series of the on-counts
/// over a cycle, relative to their mean.
pub fn dithered(duty: Duty, pwm: &PwmPlan, dither: Dither) -> Vec<Component> {
    let whole = u32::from(pwm.whole) * 256;
    if duty.0 == 0 || u32::from(duty.0) >= whole {
        return Vec::new();
    }
    let mut components = vec![Component {
        frequency: pwm.frequency,
        modulation: Share(1.0),
    }];
    let counts: Vec<f64> = dither.counts(duty).map(f64::from).collect();
    let phases = counts.len();
    for harmonic in 1..=phases / 2 {
        let amplitude = amplitude(&counts, harmonic);
        if amplitude > FAINT {
            components.push(Component {
                frequency: Hertz(pwm.frequency.0 * harmonic as f64 / phases as f64),
                modulation: Share(amplitude.min(1.0)),
            });
        }
    }
    components
}

/// Of one harmonic, relative to the mean.
fn amplitude(counts: &[f64], harmonic: usize) -> f64 {
    let n = counts.len() as f64;
    let mean = counts.iter().sum::<f64>() / n;
    let (mut real, mut imaginary) = (0.0, 0.0);
    for (index, count) in counts.iter().enumerate() {
        let angle = std::f64::consts::TAU * (index * harmonic % counts.len()) as f64 / n;
        real += count * libm::cos(angle);
        imaginary += count * libm::sin(angle);
    }
    // The harmonic at half the rate has no mirror image.
    let mirrored = if 2 * harmonic == counts.len() {
        1.0
    } else {
        2.0
    };
    mirrored * libm::sqrt(real * real + imaginary * imaginary) / n / mean
}

/// The light of a string whose current is set by a headroom follows the ripple of its rail.
pub fn of_ripple(clock: Hertz, ripple: Volts, headroom: Volts) -> Component {
    let modulation = if headroom.0 > 0.0 {
        (ripple.0 / 2.0 / headroom.0).min(1.0)
    } else {
        1.0
    };
    Component {
        frequency: clock,
        modulation: Share(modulation),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::drive::Shape;
    use crate::drive::timer::Mode;
    use crate::units::Cycles;

    /// Hand-worked from the table above, on both sides of each limit.
    #[test]
    fn verdicts_by_hand() {
        use Risk::{High, Low, NoEffect};
        let cases = [
            // Mains lamps: 100 Hz allows 8 % at low risk and 3.33 % without effect.
            (100.0, 0.0800, Low),
            (100.0, 0.0801, High),
            (100.0, 0.0333, NoEffect),
            (100.0, 0.0334, Low),
            // 120 Hz: 9.6 % and 4 %.
            (120.0, 0.096, Low),
            (120.0, 0.097, High),
            (120.0, 0.040, NoEffect),
            (120.0, 0.041, Low),
            // 60 Hz: 1.5 % and 0.6 %.
            (60.0, 0.015, Low),
            (60.0, 0.016, High),
            (60.0, 0.006, NoEffect),
            // 89.9 and 90 Hz: the rule changes.
            (89.9, 0.0300, High),
            (90.0, 0.0300, NoEffect),
            (90.0, 0.0720, Low),
            (90.0, 0.0721, High),
            // 1000 Hz: 80 % and 33.3 %.
            (1000.0, 0.80, Low),
            (1000.0, 0.81, High),
            // Full modulation: harmful below 1250 Hz, unseen from 3000 Hz.
            (1249.0, 1.0, High),
            (1250.0, 1.0, Low),
            (1251.0, 1.0, Low),
            (2999.0, 1.0, Low),
            (3000.0, 1.0, NoEffect),
            (3001.0, 1.0, NoEffect),
        ];
        for (frequency, modulation, risk) in cases {
            let component = Component {
                frequency: Hertz(frequency),
                modulation: Share(modulation),
            };
            assert_eq!(component.risk(), risk, "{frequency} Hz, {modulation}");
        }
    }

    fn pwm(extra_bits: u8) -> PwmPlan {
        PwmPlan {
            shape: Shape::Pulse(Mode::Fast),
            frequency: Hertz(31_250.0),
            length: Cycles(256),
            whole: 256,
            extra_bits,
            slowest: Hertz(31_250.0 / f64::from(1 << extra_bits)),
        }
    }

    #[test]
    fn a_lone_count_is_fully_modulated_at_the_slowest_rate() {
        let found = dithered(Duty(0x0010), &pwm(4), Dither::new(4));
        // A pulse in one of sixteen periods: all harmonics alike, twice the mean, hence full.
        assert_eq!(found[1].frequency, Hertz(31_250.0 / 16.0));
        assert!(
            found[1..]
                .iter()
                .all(|c| (c.modulation.0 - 1.0).abs() < 1e-9)
        );
        assert_eq!(found.len(), 1 + 8);
    }

    #[test]
    fn dither_on_much_light_hardly_shows() {
        // 200 or 201 counts, every other period: half a count in 200.5.
        let found = dithered(Duty(0xC880), &pwm(1), Dither::new(1));
        assert_eq!(found.len(), 2);
        assert!((found[1].modulation.0 - 0.5 / 200.5).abs() < 1e-9);
        assert_eq!(found[1].risk(), Risk::NoEffect);
    }

    #[test]
    fn dark_and_steady_light_have_no_components() {
        assert!(dithered(Duty(0), &pwm(4), Dither::new(4)).is_empty());
        let steady = PwmPlan {
            shape: Shape::Pulse(Mode::PhaseCorrect),
            whole: 255,
            length: Cycles(510),
            ..pwm(0)
        };
        assert!(dithered(Duty(0xFF00), &steady, Dither::new(0)).is_empty());
        assert_eq!(dithered(Duty(0xFF00), &pwm(0), Dither::new(0)).len(), 1);
    }

    #[test]
    fn the_strongest_component_carries_the_dither_s_energy() {
        // Parseval: the squares of all amplitudes are the variance of the counts.
        let dither = Dither::new(4);
        for fraction in (0x10..=0xF0).step_by(0x10) {
            let duty = Duty(0x0300 | fraction);
            let counts: Vec<f64> = dither.counts(duty).map(f64::from).collect();
            let mean = counts.iter().sum::<f64>() / 16.0;
            let variance = counts.iter().map(|c| (c / mean - 1.0).powi(2)).sum::<f64>() / 16.0;
            let found = dithered(duty, &pwm(4), dither);
            let energy: f64 = found[1..]
                .iter()
                .map(|c| {
                    let half = (c.frequency.0 - 15_625.0).abs() < 1.0;
                    c.modulation.0.powi(2) * if half { 1.0 } else { 0.5 }
                })
                .sum();
            assert!((energy - variance).abs() < 1e-6, "{fraction:#x}");
        }
    }
}
