//! What a table makes of a scale, in numbers.

use serde::Serialize;

use crate::units::{DeltaLightness, Duty, Level, Lightness, Share};

use super::{Scale, cie};

/// The measure of a table against the ideal scale.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figures {
    /// How many different duties the levels have, dark included.
    pub distinct: usize,
    /// No level is darker than the one below it.
    pub rising: bool,
    /// The largest step from one level to the next, and the level it leads to.
    pub largest_step: (DeltaLightness, Level),
    /// The largest distance from the ideal lightness, and where it is.
    pub largest_error: (DeltaLightness, Level),
}

impl Figures {
    /// Measures the table in which each level has the `duty`.
    pub fn of(scale: &Scale, duty: impl Fn(Level) -> Duty) -> Self {
        let duties: Vec<Duty> = scale.levels().map(duty).collect();
        let real: Vec<f64> = duties.iter().map(|&duty| lightness(duty).0).collect();
        let steps = scale.levels().skip(1).map(|level| {
            let at = usize::from(level.0);
            (DeltaLightness((real[at] - real[at - 1]).abs()), level)
        });
        let errors = scale.levels().map(|level| {
            let error = real[usize::from(level.0)] - scale.lightness(level).0;
            (DeltaLightness(error.abs()), level)
        });
        let mut sorted = duties.clone();
        sorted.sort_unstable();
        sorted.dedup();
        Self {
            distinct: sorted.len(),
            rising: duties.is_sorted(),
            largest_step: largest(steps),
            largest_error: largest(errors),
        }
    }
}

/// One level of a table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LevelRow {
    pub level: Level,
    /// What a pattern calls it.
    pub share: Share,
    /// The lightness it should have, and has.
    pub ideal: Lightness,
    pub real: Lightness,
    pub duty: Duty,
    /// The share of time that the output is on.
    pub on: Share,
}

/// A row for every level, from dark to the ceiling. `period`: counts in a PWM period, 256 in fast
/// PWM and 255 in phase-correct mode.
pub fn rows(scale: &Scale, duty: impl Fn(Level) -> Duty, period: u16) -> Vec<LevelRow> {
    let row = |level| {
        let duty = duty(level);
        LevelRow {
            level,
            share: scale.share(level),
            ideal: scale.lightness(level),
            real: lightness(duty),
            duty,
            on: duty.on_share(period),
        }
    };
    scale.levels().map(row).collect()
}

fn lightness(duty: Duty) -> Lightness {
    cie::lightness(duty.luminance())
}

/// The largest, and the first of equals.
fn largest(items: impl Iterator<Item = (DeltaLightness, Level)>) -> (DeltaLightness, Level) {
    items.fold((DeltaLightness(0.0), Level(0)), |most, item| {
        if item.0 > most.0 { item } else { most }
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::brightness;
    use super::*;
    use crate::spec::project::Curve;

    #[test]
    fn figures_tell_steps_errors_and_repeats() {
        let scale = Scale::new(&brightness(Curve::Linear, 5, 0.0, 1.0));
        // A quarter of full light is 0x3FC0.
        let duties = [0, 0x3FC0, 0x3FC0, 0xBF40, 0xFF00];
        let figures = Figures::of(&scale, |level| Duty(duties[usize::from(level.0)]));
        assert_eq!(figures.distinct, 4);
        assert!(figures.rising);
        // From dark to a quarter: L* 57.08.
        assert_eq!(figures.largest_step.1, Level(1));
        assert!((figures.largest_step.0.0 - 57.08).abs() < 0.01);
        // Half is L* 76.07, and level 2 stays at a quarter.
        assert_eq!(figures.largest_error.1, Level(2));
        assert!((figures.largest_error.0.0 - 18.99).abs() < 0.01);
    }

    #[test]
    fn a_level_darker_than_the_one_below_is_not_rising() {
        let scale = Scale::new(&brightness(Curve::Linear, 3, 0.0, 1.0));
        let figures = Figures::of(&scale, |level| Duty([0, 512, 256][usize::from(level.0)]));
        assert!(!figures.rising);
        assert_eq!(figures.distinct, 3);
    }
}
