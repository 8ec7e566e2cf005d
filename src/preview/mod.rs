//! Patterns as text timelines, played on the model: what is drawn is what the chip will do.
//!
//! ```text
//! View ─window→ Window ─strip→ Strip ─draw→ text
//! ```

mod axis;
mod day;
mod dips;
mod draw;
mod frames;
mod glyphs;
mod round;
mod steady;
mod steps;
mod strip;
mod window;

use rayon::prelude::*;

use crate::design::Design;
use crate::player::Generator;
use crate::score::Origin;
use crate::spec::PatternId;
use crate::units::Time;

pub use axis::{Mark, marks};
pub use day::day;
pub use draw::{facts, ruler, top};
pub use frames::{Recording, frames};
pub use glyphs::Glyphs;
pub use round::Round;
pub use steps::{Lines, Steps};
pub use strip::lights;
pub use strip::{Column, Recorder, Strip, Trace};
pub use window::Window;

/// What to show.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct View {
    /// Of the project's patterns. Empty: all that its shows can play, and their levels.
    pub patterns: Vec<PatternId>,
    /// Time since the pattern's start.
    pub start: Time,
    /// `None`: one round of the pattern, or as much of it as shows what it is like.
    pub span: Option<Time>,
    /// The state of the random generator when a pattern starts.
    pub seed: u16,
}

/// How to show it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Columns of text, names and all.
    pub width: usize,
    pub glyphs: Glyphs,
}

impl Default for View {
    /// All patterns, as on a chip that has never run before.
    fn default() -> Self {
        Self {
            patterns: Vec::new(),
            start: Time(0),
            span: None,
            seed: Generator::FIRST,
        }
    }
}

/// The timelines as text.
pub fn timelines(design: &Design, view: &View, style: &Style) -> String {
    let recorder = Recorder::new(design, draw::visible(design, style));
    let timeline = |(pattern, scene)| {
        let window = Window::new(design, pattern, scene, view, draw::room(design, style));
        let strip = recorder.record(scene, window, view.seed);
        draw::timeline(design, &strip, style)
    };
    let played: Vec<(PatternId, usize)> = view.played(design).collect();
    let mut parts: Vec<String> = played.into_par_iter().map(timeline).collect();
    if view.patterns.is_empty() {
        parts.extend(steady::tables(design, style));
    }
    parts.push(draw::legend(design, style) + &draw::legend_of_marks(style));
    parts.join("\n")
}

impl View {
    /// The patterns that it asks for, as far as some show plays them, each with its scene.
    pub fn played(&self, design: &Design) -> impl Iterator<Item = (PatternId, usize)> {
        let wanted = |pattern| self.patterns.is_empty() || self.patterns.contains(&pattern);
        played(design).filter(move |&(pattern, _)| wanted(pattern))
    }
}

/// All patterns that some show plays, each with its scene.
pub fn played(design: &Design) -> impl Iterator<Item = (PatternId, usize)> {
    let patterns = design.project.pattern_ids();
    patterns.filter_map(|pattern| Some((pattern, scene(design, pattern)?)))
}

/// The scene that plays a pattern.
pub fn scene(design: &Design, pattern: PatternId) -> Option<usize> {
    let scenes = &design.deck.image.score.scenes;
    scenes
        .iter()
        .position(|scene| scene.origin == Origin::Pattern(pattern))
}
