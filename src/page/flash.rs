//! Whether a pattern may play by itself on a screen: the general flash of WCAG 2.
//!
//! A flash is "a pair of opposing changes in relative luminance of 10 % or more of the maximum
//! relative luminance where the relative luminance of the darker image is below 0.80", and there may
//! be no more than three in any second (WCAG 2.2, success criterion 2.3.1). The page asks of each string
//! by itself and of all together, whatever their share of the screen: the strict reading.

use crate::units::Luminance;

/// So many flashes in a second are allowed.
pub const SAFE: usize = 3;
/// Changes smaller than this do not count.
const LEAST: f64 = 0.10;
/// Changes between lights at least this bright do not count.
const BRIGHT: f64 = 0.80;
/// Room for rounding in sums.
const NEAR: f64 = 1e-9;

/// The most flashes that begin in any second of a light given every `step` seconds.
pub fn most_flashes(light: &[Luminance], step: f64) -> usize {
    let changes = changes(light);
    let window = 1.0 / step;
    let mut most = 0;
    let mut first = 0;
    for (last, &at) in changes.iter().enumerate() {
        while (at - changes[first]) as f64 >= window - NEAR {
            first += 1;
        }
        most = most.max((last - first + 1).div_ceil(2));
    }
    most
}

/// When the light has gone up or down by enough to count, turn by turn.
fn changes(light: &[Luminance]) -> Vec<usize> {
    let mut found = Vec::new();
    let Some(first) = light.first() else {
        return found;
    };
    let (mut low, mut high) = (first.0, first.0);
    let mut rising: Option<bool> = None;
    for (at, now) in light.iter().enumerate() {
        let now = now.0;
        match rising {
            Some(true) if now > high => high = now,
            Some(false) if now < low => low = now,
            _ => {
                if rising != Some(true) && now - low >= LEAST - NEAR && low < BRIGHT {
                    found.push(at);
                    (rising, high) = (Some(true), now);
                } else if rising != Some(false) && high - now >= LEAST - NEAR && now < BRIGHT {
                    found.push(at);
                    (rising, low) = (Some(false), now);
                } else if rising.is_none() {
                    (low, high) = (low.min(now), high.max(now));
                }
            }
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `flashes` a second, from `low` to `high`, for three seconds at 1 ms.
    fn square(flashes: usize, low: f64, high: f64) -> usize {
        let light: Vec<Luminance> = (0..3000)
            .map(|ms| {
                Luminance(if ms * flashes * 2 / 1000 % 2 == 0 {
                    low
                } else {
                    high
                })
            })
            .collect();
        most_flashes(&light, 0.001)
    }

    #[test]
    fn three_in_a_second_are_safe_and_four_are_not() {
        assert_eq!(square(3, 0.0, 1.0), 3);
        assert_eq!(square(4, 0.0, 1.0), 4);
    }

    #[test]
    fn small_changes_and_changes_between_bright_lights_do_not_count() {
        assert_eq!(square(10, 0.5, 0.599), 0);
        assert_eq!(square(10, 0.5, 0.601), 10);
        assert_eq!(square(10, 0.81, 1.0), 0);
        assert_eq!(square(10, 0.79, 1.0), 10);
    }

    #[test]
    fn a_slow_swell_with_a_ripple_is_one_change_each_way() {
        let light: Vec<Luminance> = (0..1000)
            .map(|ms| {
                let swell = (f64::from(ms) / 1000.0 * std::f64::consts::PI).sin();
                Luminance(swell * 0.9 + 0.04 * f64::from(ms % 2))
            })
            .collect();
        assert_eq!(changes(&light).len(), 2);
    }
}
