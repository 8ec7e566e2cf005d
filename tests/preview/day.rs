//! An evening and the night after it.

use duskloom::preview::{Glyphs, Style, day};

use crate::common::designs;
use crate::preview::support::{STYLE, design, row};

const SEED: u16 = 1;

#[test]
fn of_the_churchyard() {
    let design = designs::from_file("patterns/churchyard.yaml");
    insta::assert_snapshot!(day(&design, SEED, &STYLE).unwrap());
}

#[test]
fn from_dusk_to_dusk() {
    let design = designs::from_file("patterns/seawall.yaml");
    insta::assert_snapshot!(day(&design, SEED, &STYLE).unwrap());
}

const SHORT: &str = "chip: attiny85
channels: {post: {pin: PB0}}
evening: {on: 1 min, every: 10 min}
patterns:
  steady:
    - {set: 60 %}
    - {hold: forever}
";

#[test]
fn narrow_and_in_ascii() {
    let style = Style {
        width: 64,
        glyphs: Glyphs::Ascii,
    };
    insta::assert_snapshot!(day(&design(SHORT), SEED, &style).unwrap());
}

/// Lit for a tenth of the columns, dark in all others.
#[test]
fn columns_are_lit_as_long_as_the_evening_lasts() {
    let text = day(&design(SHORT), SEED, &STYLE).unwrap();
    let row = row(&text, "post");
    let lit = row
        .iter()
        .filter(|glyph| **glyph != Glyphs::Blocks.dark())
        .count();
    assert!(row[0] != Glyphs::Blocks.dark());
    assert!(
        row.len().div_ceil(lit) == 10 || row.len() / lit == 10,
        "{lit} of {}",
        row.len()
    );
}

#[test]
fn without_evenings_there_is_none() {
    let always = SHORT.replace("evening: {on: 1 min, every: 10 min}\n", "");
    assert!(day(&design(&always), SEED, &STYLE).is_none());
}
