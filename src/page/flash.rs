//! Whether a pattern may play by itself on a screen: the general flash of WCAG 2, which `board::flash`
//! judges.
//!
//! It is asked of each string by itself, of each group and of all together, whatever their share of
//! the screen: the strict reading.

use crate::board::flash::Luminances;
use crate::units::{Luminance, Seconds};

/// The most flashes that begin in any second of a light given every `step` seconds.
pub fn most_flashes(light: &[Luminance], step: f64) -> usize {
    let step = Seconds(step);
    Luminances { step, light }.busiest().flashes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `flashes` a second, from `low` to `high`, for three seconds at 1 ms.
    fn square(flashes: usize, low: f64, high: f64) -> usize {
        let light: Vec<Luminance> = (0..3000)
            .map(|ms| {
                Luminance(if (ms * flashes * 2 / 1000).is_multiple_of(2) {
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
}
