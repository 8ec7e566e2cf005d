//! What is played once, and for how long.

use serde::Serialize;

use super::parts::time;
use super::watched::{in_c, in_rust};
use crate::conduct::Once;
use crate::design::Design;

#[derive(Debug, Serialize)]
pub(super) struct OnceText {
    /// What the time is counted in.
    #[serde(rename = "type")]
    kind: &'static str,
    /// …and as Rust has it.
    count: &'static str,
    begin: Option<PlayedText>,
}

/// A scene and its time.
#[derive(Debug, Serialize)]
pub(super) struct PlayedText {
    scene: u8,
    name: String,
    ticks: u16,
    time: String,
}

impl OnceText {
    /// `None`: nothing is played once.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let firmware = &design.firmware;
        let rules = &firmware.rules;
        rules.plays_once().then(|| Self {
            kind: in_c(Once::is_wide(rules.once())),
            count: in_rust(Once::is_wide(rules.once())),
            begin: rules.begins_with().map(|once| played(design, once)),
        })
    }
}

pub(super) fn played(design: &Design, once: Once) -> PlayedText {
    PlayedText {
        scene: once.scene,
        name: design.deck.image.score.scenes[usize::from(once.scene)]
            .name
            .clone(),
        ticks: once.ticks,
        time: time(design, once.ticks),
    }
}
