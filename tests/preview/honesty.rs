//! A timeline does not lie: what is lit is seen, what is dark is seen or marked.

use duskloom::preview::View;
use duskloom::units::Time;
use proptest::prelude::*;

use crate::preview::support::{design, row, timeline};

/// A flash in a dark pattern, of these milliseconds.
fn flash(before: u64, lit: u64, after: u64) -> String {
    format!(
        "name: flash\nchip: attiny2313a\ntick: 5 ms\nchannels: {{lamp: {{pin: PB2}}}}\npatterns:\n  one:\n    \
         - {{set: 0 %, hold: {before} ms}}\n    - {{set: 100 %, hold: {lit} ms}}\n    \
         - {{set: 0 %, hold: {after} ms}}\n"
    )
}

#[test]
fn a_flash_of_a_tick_is_seen_in_an_hour() {
    let design = design(&flash(1_800_000, 5, 1_799_995));
    let text = timeline(&design, "one", View::default());
    let lit: Vec<usize> = row(&text, "lamp")
        .iter()
        .enumerate()
        .filter(|(_, glyph)| **glyph == '█')
        .map(|(at, _)| at)
        .collect();
    // A column of 40 s: half an hour is column 45.
    assert_eq!(lit, [45], "{text}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    #[test]
    fn flashes_and_dark_moments_are_seen_or_marked(
        before in 1..400_u64,
        lit in 1..400_u64,
        after in 1..400_u64,
        span in 1..40_u64,
    ) {
        let design = design(&flash(5 * before, 5 * lit, 5 * after));
        let view = View {
            span: Some(Time::from_millis(5 * (before + lit + after) * span)),
            ..View::default()
        };
        let text = timeline(&design, "one", view);
        let row = row(&text, "lamp");
        prop_assert!(row.contains(&'█'), "{}", text);
        // Between two flashes it is dark for a while.
        if span > 1 {
            let marked = text.lines().any(|line| line.contains('≈') && !line.contains("below:"));
            prop_assert!(row.contains(&'·') || marked, "{}", text);
        }
    }
}
