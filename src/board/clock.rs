//! What an inexact clock makes of everything that is timed by it.

use serde::Serialize;

use crate::plan::Plan;
use crate::units::{Hertz, Share};

/// Frequencies from a clock that runs as slow, and as fast, as it may.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ClockTruth {
    /// Either way.
    pub accuracy: Share,
    pub processor: Range,
    /// The PWM.
    pub pwm: Range,
    /// The slowest part of the light that depth adds.
    pub slowest: Range,
    pub pump: Option<Range>,
    /// How long it takes to play what is written as one minute, in seconds.
    pub minute: [f64; 2],
}

/// From the slowest to the fastest clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    pub least: Hertz,
    pub most: Hertz,
}

impl Range {
    fn around(frequency: Hertz, accuracy: Share) -> Self {
        Self {
            least: Hertz(frequency.0 * (1.0 - accuracy.0)),
            most: Hertz(frequency.0 * (1.0 + accuracy.0)),
        }
    }
}

impl ClockTruth {
    pub fn new(plan: &Plan) -> Self {
        let accuracy = plan.clock.accuracy;
        let around = |frequency| Range::around(frequency, accuracy);
        // A tick that is not a whole number of overflows exactly is off by this much more.
        let minute = 60.0 * (1.0 + plan.tick.error_ppm * 1e-6);
        Self {
            accuracy,
            processor: around(plan.clock.frequency),
            pwm: around(plan.drive.pwm().frequency),
            slowest: around(plan.drive.pwm().slowest),
            pump: plan.drive.pump().map(|pump| around(pump.clock)),
            minute: [minute / (1.0 + accuracy.0), minute / (1.0 - accuracy.0)],
        }
    }

    /// What any frequency becomes at the slowest clock, and at the fastest, as factors.
    pub fn factors(&self) -> [f64; 2] {
        [1.0 - self.accuracy.0, 1.0 + self.accuracy.0]
    }
}
