//! The light of all channels together, relative to the most that the project gives.

use crate::design::Design;
use crate::units::{Duty, Level, Luminance};

/// What the model puts out, looked up: by channel and level.
#[derive(Debug, Clone)]
pub struct Duties(Vec<Vec<Duty>>);

impl Duties {
    pub fn new(design: &Design) -> Self {
        let channel = |channel| {
            let levels = design.scale.levels();
            levels
                .map(|level| design.deck.duty(channel, level))
                .collect()
        };
        Self((0..design.project.channels.len()).map(channel).collect())
    }

    /// Channel by channel, its duty at each level.
    pub fn channels(&self) -> impl Iterator<Item = &[Duty]> {
        self.0.iter().map(Vec::as_slice)
    }

    pub fn of(&self, channel: usize, level: Level) -> Duty {
        self.0[channel][usize::from(level.0)]
    }
}

/// The share of each channel's level in the light of all. Strings count alike: a string that is
/// brighter than the others has a trim, which is undone here.
#[derive(Debug, Clone)]
pub struct Shine {
    /// By channel and level.
    shares: Vec<Vec<f64>>,
}

impl Shine {
    pub fn new(design: &Design) -> Self {
        let channels = design.project.channels.len();
        let shares = (0..channels)
            .map(|channel| {
                let light = |level| f64::from(design.deck.duty(channel, level).0);
                let full = light(design.scale.top()).max(1.0) * channels as f64;
                design
                    .scale
                    .levels()
                    .map(|level| light(level) / full)
                    .collect()
            })
            .collect();
        Self { shares }
    }

    /// 1: all channels at the ceiling.
    pub fn of(&self, levels: impl IntoIterator<Item = Level>) -> Luminance {
        let one = |(shares, level): (&Vec<f64>, Level)| shares[usize::from(level.0)];
        Luminance(self.shares.iter().zip(levels).map(one).sum())
    }
}
