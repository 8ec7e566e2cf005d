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

/// A timed evening is as long as it says, longer than a night too; one that begins at dusk ends with the night.
#[test]
fn an_evening_may_outlast_a_night() {
    let long = SHORT.replace("1 min, every: 10 min", "14 h, every: 24 h");
    let text = day(&design(&long), SEED, &STYLE).unwrap();
    let titles: Vec<&str> = text.lines().collect();
    assert!(
        titles[0]
            .starts_with("a day: on for 14 h, dark for 10 h, from one evening to the next 24 h;"),
        "{text}"
    );
    let lit = |row: &[char]| {
        let lit = row.iter().filter(|glyph| **glyph != Glyphs::Blocks.dark());
        lit.count() as f64 / row.len() as f64
    };
    assert!(
        (lit(&row(&text, "post")) - 14.0 / 24.0).abs() < 0.03,
        "{text}"
    );
    let dusk = long
        .replace("evening: {on: 14 h, every: 24 h}", "evening: {on: 14 h}")
        .replace(
            "patterns:",
            "inputs: {sky: {pin: PB3, senses: light}}\npatterns:",
        );
    let text = day(&design(&dusk), SEED, &STYLE).unwrap();
    assert!(text.contains("on for 12 h below"), "{text}");
}

#[test]
fn without_evenings_there_is_none() {
    let always = SHORT.replace("evening: {on: 1 min, every: 10 min}\n", "");
    assert!(day(&design(&always), SEED, &STYLE).is_none());
}
