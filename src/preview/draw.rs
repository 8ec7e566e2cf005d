//! A strip as text: the axis, a row a channel, and marks where steps begin.

use crate::design::Design;
use crate::units::{DeltaLightness, Lightness, Time};

use super::axis;
use super::strip::{Column, Strip, Trace};
use super::{Style, Window};

/// Before the name of a channel, and after it.
const MARGIN: usize = 2;
/// The fewest columns between two marks of the axis.
const GAP: f64 = 9.0;
/// Timelines are never narrower than this.
const LEAST: usize = 20;

/// How many columns there are for time, next to the names of channels.
pub(super) fn room(design: &Design, style: &Style) -> usize {
    style.width.saturating_sub(indent(design)).max(LEAST)
}

/// The lightness of the brightest level.
pub fn top(design: &Design) -> Lightness {
    design.scale.lightness(design.scale.top())
}

/// What one character is brighter than the one before it.
pub(super) fn visible(design: &Design, style: &Style) -> DeltaLightness {
    DeltaLightness(top(design).0 / style.glyphs.ramp().len() as f64)
}

/// Columns before time begins.
pub(super) fn indent(design: &Design) -> usize {
    let names = design.project.channels.iter();
    let longest = names.map(|channel| channel.name.value.len()).max();
    MARGIN + longest.unwrap_or(0) + MARGIN
}

/// A whole timeline, with its heading.
pub(super) fn timeline(design: &Design, strip: &Strip, style: &Style) -> String {
    let indent = indent(design);
    let mut text = wrapped(&heading(strip, design), style);
    text.push('\n');
    for line in ruler(&strip.window, style) {
        text += &format!("{:indent$}{line}\n", "");
    }
    for (at, trace) in strip.traces.iter().enumerate() {
        let glyph = |column: &Column| style.glyphs.of(column.lightness, top(design));
        let row: String = trace.columns.iter().map(glyph).collect();
        let name = format!("{:MARGIN$}{}", "", trace.channel);
        text += format!("{name:indent$}{row}").trim_end();
        text.push('\n');
        // Neighbours whose steps begin together share a row of marks.
        let marks = marks(trace, style);
        let next = strip.traces.get(at + 1);
        let shared = next.is_some_and(|next| self::marks(next, style) == marks);
        if !shared && !marks.is_empty() {
            text += &format!("{:indent$}{marks}\n", "");
        }
    }
    text
}

/// Lines, in no more columns than there are.
pub(super) fn wrapped(text: &str, style: &Style) -> String {
    let options = textwrap::Options::new(style.width)
        .subsequent_indent("  ")
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    let lines = text.lines();
    lines
        .map(|line| textwrap::fill(line, &options) + "\n")
        .collect()
}

fn marks(trace: &Trace, style: &Style) -> String {
    let mark = |column: &Column| match column.hides_a_dip {
        true => style.glyphs.dip(),
        false => style.glyphs.begins(column.begins),
    };
    let marks: String = trace.columns.iter().map(mark).collect();
    marks.trim_end().to_string()
}

fn heading(strip: &Strip, design: &Design) -> String {
    format!(
        "{}: {}\n",
        strip.window.name,
        facts(strip, design, "column")
    )
}

/// How long a round is, which seed draws, and what one `column` is, by whatever name.
pub fn facts(strip: &Strip, design: &Design, column: &str) -> String {
    let window = &strip.window;
    let mut facts = Vec::new();
    let about = if window.round.exact { "" } else { "about " };
    facts.push(if window.round.stays() {
        "stays".to_string()
    } else {
        format!("a round of {about}{}", window.round.length)
    });
    if window.round.lead.0 > 0 {
        facts.push(format!("after {}", window.round.lead));
    }
    if let Some(seed) = strip.seed {
        facts.push(format!("drawn with seed {seed}"));
    }
    let tick = design.grid.tick_seconds();
    facts.push(if window.column < tick {
        format!(
            "{} {column}s a tick of {}",
            (tick / window.column).round(),
            said(tick)
        )
    } else {
        format!("{} a {column}", said(window.column))
    });
    facts.join(", ")
}

/// A length of time, to a few digits.
fn said(seconds: f64) -> String {
    Time((seconds * 1e9).round() as u64).to_string()
}

/// The labels and the line below them.
pub fn ruler(window: &Window, style: &Style) -> [String; 2] {
    scale(window.start, window.column, window.columns, style)
}

/// The same, of so many columns of some seconds each, from a start in seconds.
pub(super) fn scale(start: f64, column: f64, columns: usize, style: &Style) -> [String; 2] {
    let (line, mark) = style.glyphs.axis();
    let mut labels = String::new();
    let mut axis: Vec<char> = vec![line; columns];
    for found in axis::marks(start, column, columns, GAP) {
        axis[found.at] = mark;
        let fits = found.at + found.label.len() <= columns.max(LEAST);
        if fits && found.at >= labels.len() {
            labels += &" ".repeat(found.at - labels.len());
            labels += &found.label;
        }
    }
    [labels, axis.into_iter().collect()]
}

/// What the characters of a row mean.
pub(super) fn legend(design: &Design, style: &Style) -> String {
    let glyphs = style.glyphs;
    let dark = match glyphs.dark() {
        ' ' => "blank".to_string(),
        glyph => glyph.to_string(),
    };
    let text = format!(
        "{dark}: dark; {ramp}: light, each up to {step:.1} L* more, the last {top:.1}; the brightest \
         moment of a column",
        ramp = glyphs.ramp().iter().collect::<String>(),
        step = visible(design, style).0,
        top = top(design).0,
    );
    wrapped(&text, style)
}

/// What the marks below rows mean.
pub(super) fn legend_of_marks(style: &Style) -> String {
    let glyphs = style.glyphs;
    let text = format!(
        "below: {} a step begins, {} several do, {} darker moments are too short to show",
        glyphs.begins(1),
        glyphs.begins(2),
        glyphs.dip()
    );
    wrapped(&text, style)
}
