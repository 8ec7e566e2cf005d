//! A scene that is played for a while; then the one before comes back.

use serde::Serialize;

use super::fade::FadeStep;
use crate::score::OnceRange;
use crate::target::Wanted;

/// What is played, and for how many ticks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Once {
    pub scene: u8,
    /// Until it begins to go, at least one. They are counted from the scene's start.
    pub ticks: u16,
}

impl Once {
    /// Where scenes fade, it has gone when its time is over, so that it does not begin anew while it goes.
    pub fn new(range: OnceRange, fade: Option<FadeStep>) -> Self {
        let goes = fade.map_or(0, FadeStep::ticks) as u32;
        let ticks = range.ticks.0.saturating_sub(goes);
        Self {
            scene: range.scene,
            ticks: ticks.clamp(1, u16::MAX.into()) as u16,
        }
    }

    /// What the time is counted in. `at_once`: it is set before anything counts.
    pub fn variable(all: impl Iterator<Item = Self>, at_once: bool) -> Wanted {
        let wide = Self::is_wide(all);
        Wanted::new(
            "playing",
            wide,
            "ticks for which a scene plays once; 0: none does",
        )
        .cleared(!at_once)
    }

    /// Whether it takes two bytes.
    pub fn is_wide(mut all: impl Iterator<Item = Self>) -> bool {
        all.any(|once| once.ticks > 255)
    }
}
