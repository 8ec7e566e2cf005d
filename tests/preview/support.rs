//! Projects to look at.

use duskloom::design::Design;
use duskloom::preview::{Glyphs, Style, View, timelines};

use crate::common::designs;

/// The design of a project that is given as text.
pub(super) fn design(text: &str) -> Design {
    designs::from_text("trial.yaml", text)
}

/// Patterns of many lengths.
pub(super) fn lengths() -> Design {
    design(include_str!("projects/lengths.yaml"))
}

pub(super) const STYLE: Style = Style {
    width: 100,
    glyphs: Glyphs::Blocks,
};

/// The timeline of a pattern, by its name.
pub(super) fn timeline(design: &Design, pattern: &str, view: View) -> String {
    let view = View {
        patterns: Vec::from_iter(design.project.pattern_named(pattern)),
        ..view
    };
    assert!(!view.patterns.is_empty(), "there is no {pattern}");
    timelines(design, &view, &STYLE)
}

/// The row of a channel in a timeline: the characters of its columns.
pub(super) fn row(timeline: &str, channel: &str) -> Vec<char> {
    let line = timeline
        .lines()
        .find(|line| line.trim_start().starts_with(channel))
        .unwrap_or_else(|| panic!("no row of {channel} in\n{timeline}"));
    line.trim_start()
        .trim_start_matches(channel)
        .trim()
        .chars()
        .collect()
}
