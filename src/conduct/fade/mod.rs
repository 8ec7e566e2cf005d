//! The old scene dims before the new one comes up.

mod master;

use crate::plan::Tick;
use crate::target::Wanted;
use crate::units::Time;

pub use master::Master;

/// How much of 65 536 the light comes or goes in a tick while a scene changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FadeStep(pub u16);

impl FadeStep {
    /// For a change that takes `time`, half to go and half to come. `None`: at once.
    pub fn new(time: Time, tick: &Tick) -> Option<Self> {
        let half = (tick.count(time) / 2.0).round();
        (half >= 1.0).then(|| Self((65_536.0 / half).round().clamp(1.0, 65_535.0) as u16))
    }

    /// How long a scene takes to go, or to come.
    pub fn ticks(self) -> usize {
        65_536 / usize::from(self.0)
    }

    /// What a change counts in, where scenes follow each other as in `hops`.
    pub fn variables(hops: bool) -> [Wanted; 2] {
        [
            Wanted::new("leaving", false, "the old scene is being dimmed").cleared(!hops),
            Wanted::new("scene", false, "the scene that is due"),
        ]
    }
}
