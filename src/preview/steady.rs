//! The levels of steady shows.

use crate::design::Design;
use crate::units::Level;

use super::Style;
use super::draw::{indent, room, top, wrapped};
use super::strip::lights;

/// Columns that a level takes.
const CELL: usize = 8;

/// A table for every steady show: the lightness of its levels on every channel.
pub(super) fn tables(design: &Design, style: &Style) -> Vec<String> {
    let shows = design.deck.image.score.steady_levels();
    shows.map(|levels| table(design, style, &levels)).collect()
}

fn table(design: &Design, style: &Style, levels: &[Level]) -> String {
    let indent = indent(design);
    let heading = format!(
        "steady: {} levels, equal steps apart, in L*; a tap goes to the next\n",
        levels.len()
    );
    let mut text = wrapped(&heading, style);
    let lights = lights(design);
    let a_row = (room(design, style) / CELL).max(1);
    let numbered: Vec<(usize, Level)> = levels.iter().copied().enumerate().collect();
    for some in numbered.chunks(a_row) {
        text.push('\n');
        let heads: String = some
            .iter()
            .map(|(n, _)| format!("{:<CELL$}", n + 1))
            .collect();
        text += format!("{:indent$}{heads}", "").trim_end();
        text.push('\n');
        for (channel, lights) in design.project.channels.iter().zip(&lights) {
            let cells: String = some
                .iter()
                .map(|(_, level)| {
                    let lightness = lights[usize::from(level.0)];
                    let glyph = style.glyphs.of(lightness, top(design));
                    format!("{:<CELL$}", format!("{glyph} {:.1}", lightness.0))
                })
                .collect();
            let name = format!("  {}", channel.name.value);
            text += format!("{name:indent$}{cells}").trim_end();
            text.push('\n');
        }
    }
    text
}
