//! A strip as text: the axis, a row a channel, and marks where steps begin.

use crate::design::Design;
use crate::units::{Lightness, Time};

use super::axis;
use super::strip::{Column, Strip};
use super::{Style, Window};

/// Before the name of a channel, and after it.
const MARGIN: usize = 2;
/// Timelines are never narrower than this.
const LEAST: usize = 20;

/// How many columns there are for time, next to the names of channels.
pub fn room(design: &Design, style: &Style) -> usize {
    style.width.saturating_sub(indent(design)).max(LEAST)
}

/// The lightness of the brightest level.
pub fn top(design: &Design) -> Lightness {
    design.scale.lightness(design.scale.top())
}

/// Columns before time begins.
pub fn indent(design: &Design) -> usize {
    let names = design.project.channels.iter();
    let longest = names.map(|channel| channel.name.value.len()).max();
    MARGIN + longest.unwrap_or(0) + MARGIN
}

/// A whole timeline, with its heading.
pub fn timeline(design: &Design, strip: &Strip, style: &Style) -> String {
    let indent = indent(design);
    let mut text = heading(strip, design);
    text.push('\n');
    for line in ruler(&strip.window, style) {
        text += &format!("{:indent$}{line}\n", "");
    }
    for (at, trace) in strip.traces.iter().enumerate() {
        let glyph = |column: &Column| style.glyphs.of(column.lightness, top(design));
        let row: String = trace.columns.iter().map(glyph).collect();
        let name = format!("{:MARGIN$}{}", "", trace.channel);
        text += &format!("{name:indent$}{row}\n");
        // Neighbours whose steps begin together share a row of marks.
        let begins = |at: usize| strip.traces.get(at).map(|trace| begins(trace.columns.iter()));
        if begins(at) != begins(at + 1) {
            let marks: String = trace
                .columns
                .iter()
                .map(|column| style.glyphs.begins(column.begins))
                .collect();
            text += format!("{:indent$}{marks}", "").trim_end();
            text.push('\n');
        }
    }
    text
}

fn begins<'a>(columns: impl Iterator<Item = &'a Column>) -> Vec<u32> {
    columns.map(|column| column.begins).collect()
}

fn heading(strip: &Strip, design: &Design) -> String {
    let window = &strip.window;
    let mut facts = Vec::new();
    let about = if window.round.exact { "" } else { "about " };
    facts.push(format!("a round of {about}{}", said(window.round.length.seconds())));
    if let Some(seed) = strip.seed {
        facts.push(format!("drawn with seed {seed}"));
    }
    let tick = design.grid.tick_seconds();
    facts.push(if window.column < tick {
        format!(
            "{} columns a tick of {}",
            (tick / window.column).round(),
            said(tick)
        )
    } else {
        format!("{} a column", said(window.column))
    });
    format!("{}: {}\n", window.name, facts.join(", "))
}

/// A length of time, to a few digits.
fn said(seconds: f64) -> String {
    Time((seconds * 1e9).round() as u64).to_string()
}

/// The labels and the line below them.
fn ruler(window: &Window, style: &Style) -> [String; 2] {
    let (line, mark) = style.glyphs.axis();
    let mut labels = String::new();
    let mut axis: Vec<char> = vec![line; window.columns];
    for found in axis::marks(window.start, window.column, window.columns) {
        axis[found.at] = mark;
        if found.at >= labels.len() {
            labels += &" ".repeat(found.at - labels.len());
            labels += &found.label;
        }
    }
    [labels, axis.into_iter().collect()]
}

/// What the characters mean.
pub fn legend(design: &Design, style: &Style) -> String {
    let glyphs = style.glyphs;
    let ramp = glyphs.ramp();
    let top = top(design).0;
    let step = top / ramp.len() as f64;
    format!(
        "{dark} dark  {ramp} up to L* {step:.1} … {top:.1}, in equal steps; a column shows its \
         brightest moment\n\
         {one} a step begins  {many} several do\n",
        dark = glyphs.dark(),
        ramp = ramp.iter().collect::<String>(),
        one = glyphs.begins(1),
        many = glyphs.begins(2),
    )
}
