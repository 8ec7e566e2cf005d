//! Which parts of the firmware a project needs.

use crate::plan::Tick;
use crate::score::Image;
use crate::spec::Project;
use crate::units::Time;

/// Parts that are there or not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Features {
    /// Something is drawn at random, on the chip.
    pub draws: bool,
    /// Every channel has a generator of its own.
    pub streams: bool,
    /// There is more than one scene to go to.
    pub hops: bool,
    /// A tap can do something.
    pub taps: bool,
    /// A hold can do something.
    pub holds: bool,
    pub roams: bool,
}

impl Features {
    pub fn new(project: &Project, image: &Image) -> Self {
        let format = &image.format;
        let shows = &image.score.shows;
        let roams = super::roaming(image).is_some();
        let button = project.button.is_some();
        let several = shows.iter().any(|show| show.count > 1);
        Self {
            draws: format.random || format.keep || format.branch || roams,
            streams: format.streams,
            hops: roams || button && (several || shows.len() > 1),
            taps: button && several,
            holds: button && shows.len() > 1,
            roams,
        }
    }
}

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
}
