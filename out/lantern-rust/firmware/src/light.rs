//! Shows, scenes and button: what plays, and what comes next.

use crate::player::scene_start;

/// What the main loop keeps in mind.
pub struct Light;

impl Light {
    pub const fn new() -> Self {
        Self
    }

    /// Starts what was playing last.
    pub fn begin(&mut self) {
        scene_start(0);
    }
}
