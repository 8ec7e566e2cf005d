//! How far LEDs of a batch, and warm ones, are from what they should be.

use super::row;
use crate::board::Board;
use crate::board::light::spread_of;
use crate::circuit::Hung;
use crate::design::Design;
use crate::light::cie::lightness;
use crate::row::{Limit, Quantity, Row, Source};
use crate::spec::Colour;
use crate::units::{DeltaLightness, Luminance};

/// By so much an LED in a closed housing is easily warmer than on the bench (common practice, no source).
const WARMER: f64 = 20.0;

pub(super) fn rows(board: &Board, design: &Design) -> impl Iterator<Item = Row> {
    let rows = [spread(board, design), warmth(board, design)];
    rows.into_iter().flatten()
}

fn strings<'a>(
    board: &'a Board,
    design: &'a Design,
) -> impl Iterator<Item = (&'a str, &'a Hung, Option<Colour>)> {
    let channels = design.project.channels.iter().zip(&board.circuit.strings);
    let wanted = design.project.electrics.strings.iter();
    channels
        .zip(wanted)
        .filter_map(|((channel, hung), wanted)| {
            let colour = wanted.as_ref()?.colour;
            Some((channel.name.value.as_str(), hung.as_ref()?, colour))
        })
}

/// Of the string whose current is the least certain, at full light.
fn spread(board: &Board, design: &Design) -> Option<Row> {
    let ends = strings(board, design).map(|(name, hung, _)| (name, spread_of(&hung.string)));
    let far = |[low, high]: [f64; 2]| low.abs().max(high.abs());
    let (name, ends) = ends.max_by(|a, b| far(a.1).total_cmp(&far(b.1)))?;
    let [low, high] = ends;
    Some(row(
        ("led-spread", "spread of LEDs, resistors, rail"),
        Quantity::Lightness(DeltaLightness(far(ends))),
        Limit::None,
        Source::Computed,
        format!(
            "`{name}` at full light: {low:+.0} to {high:+.0} L* with all of them at their ends; LEDs at one \
             current differ besides, by their bin"
        ),
    ))
}

/// Of the string that fades most. `None`: no colour is given.
fn warmth(board: &Board, design: &Design) -> Option<Row> {
    let coloured = strings(board, design).filter_map(|(name, _, colour)| Some((name, colour?)));
    let (name, colour) = coloured.max_by(|a, b| a.1.fading().total_cmp(&b.1.fading()))?;
    let left = lightness(Luminance(libm::exp(-colour.fading() * WARMER)));
    Some(row(
        ("led-warmth", "light lost in a warm housing"),
        Quantity::Lightness(DeltaLightness(100.0 - left.0)),
        Limit::None,
        Source::Estimated,
        format!(
            "`{name}`, {}, {WARMER} K warmer at the same current: {:.2} % a kelvin",
            colour.text(),
            colour.fading() * 100.0
        ),
    ))
}
