//! Timelines of two versions, one above the other.

use crate::design::Design;
use crate::preview::{self, Glyphs, Recorder, Strip, Style, Trace, View, Window};
use crate::units::DeltaLightness;

/// Timelines that fit into a review.
pub const STYLE: Style = Style {
    width: 96,
    glyphs: Glyphs::Blocks,
};
/// Columns for time, however narrow the rest.
const LEAST: usize = 8;
/// Which version a row shows.
const OLD: &str = "-";
const NEW: &str = "+";
/// Marks a column in which they differ.
const MARK: char = '^';

/// Columns for time, next to the names of all channels.
pub(super) fn room(designs: &[&Design], style: &Style) -> usize {
    style.width.saturating_sub(indent(designs)).max(LEAST)
}

fn indent(designs: &[&Design]) -> usize {
    let names = designs.iter().flat_map(|design| &design.project.channels);
    let longest = names.map(|channel| channel.name.value.len()).max();
    longest.unwrap_or(0) + 4
}

/// Both timelines of the channels that differ, with the columns in which they do.
pub(super) fn both(
    (old, old_scene, before): (&Design, usize, Window),
    (new, new_scene, after): (&Design, usize, Window),
    marked: &[&str],
    style: &Style,
) -> String {
    let visible = visible(old, style).0.min(visible(new, style).0);
    let before = record(old, old_scene, before, visible);
    let after = record(new, new_scene, after, visible);
    let indent = indent(&[old, new]);
    let top = preview::top(old).0.max(preview::top(new).0);
    let row = |sign: &str, name: &str, trace: &Trace| {
        let glyph = |column: &preview::Column| {
            style
                .glyphs
                .of(column.lightness, crate::units::Lightness(top))
        };
        let cells: String = trace.columns.iter().map(glyph).collect();
        format!("{:indent$}{cells}\n", format!("{sign} {name}"))
    };
    let mut text = ruler(&after, indent, style);
    for trace in &after.traces {
        let was = before
            .traces
            .iter()
            .find(|was| was.channel == trace.channel);
        let Some(was) = was.filter(|_| marked.contains(&trace.channel.as_str())) else {
            continue;
        };
        text += &row(OLD, &trace.channel, was);
        text += &row(NEW, "", trace);
        let marks: String = was
            .columns
            .iter()
            .zip(&trace.columns)
            .map(|(a, b)| match (a.lightness.0 - b.lightness.0).abs() {
                apart if apart >= 1.0 => MARK,
                _ => ' ',
            })
            .collect();
        text += format!("{:indent$}{}", "", marks).trim_end();
        text.push('\n');
    }
    text
}

/// The timeline of a pattern that only one version has.
pub(super) fn alone(design: &Design, scene: usize, window: Window, style: &Style) -> String {
    let strip = record(design, scene, window, visible(design, style).0);
    let indent = indent(&[design]);
    let mut text = ruler(&strip, indent, style);
    for trace in &strip.traces {
        let glyph =
            |column: &preview::Column| style.glyphs.of(column.lightness, preview::top(design));
        let cells: String = trace.columns.iter().map(glyph).collect();
        text += &format!("{:indent$}{cells}\n", format!("  {}", trace.channel));
    }
    text
}

fn visible(design: &Design, style: &Style) -> DeltaLightness {
    DeltaLightness(preview::top(design).0 / style.glyphs.ramp().len() as f64)
}

fn record(design: &Design, scene: usize, window: Window, visible: f64) -> Strip {
    Recorder::new(design, DeltaLightness(visible)).record(scene, window, View::default().seed)
}

fn ruler(strip: &Strip, indent: usize, style: &Style) -> String {
    preview::ruler(&strip.window, style)
        .iter()
        .map(|line| format!("{:indent$}{line}\n", "").trim_end().to_string() + "\n")
        .collect()
}
