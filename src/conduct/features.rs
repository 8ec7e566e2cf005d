//! What a firmware draws with.

use super::Rules;
use crate::score::Image;

/// Whether anything is drawn, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Features {
    /// Something is drawn at random, on the chip.
    pub draws: bool,
    /// Every channel has a generator of its own.
    pub streams: bool,
}

impl Features {
    pub fn new(rules: &Rules, image: &Image) -> Self {
        let format = &image.format;
        Self {
            draws: format.random || format.keep || format.branch || rules.roams(),
            streams: format.streams,
        }
    }
}
