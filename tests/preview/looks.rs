//! Snapshots of what people see.

use duskloom::preview::{Glyphs, Style, View, timelines};
use duskloom::spec::PatternId;
use duskloom::units::Time;

use crate::preview::support::{STYLE, lengths, timeline};

#[test]
fn all_patterns_of_a_project() {
    insta::assert_snapshot!(timelines(&lengths(), &View::default(), &STYLE));
}

#[test]
fn narrow_and_in_ascii() {
    let style = Style {
        width: 64,
        glyphs: Glyphs::Ascii,
    };
    let view = View {
        patterns: vec![PatternId(4)],
        ..View::default()
    };
    insta::assert_snapshot!(timelines(&lengths(), &view, &style));
}

#[test]
fn a_few_ticks() {
    let view = View {
        start: Time::from_millis(240),
        span: Some(Time::from_millis(60)),
        ..View::default()
    };
    insta::assert_snapshot!(timeline(&lengths(), "ripple", view));
}

#[test]
fn a_strobe_over_a_minute() {
    let view = View {
        span: Some(Time::from_millis(60_000)),
        ..View::default()
    };
    insta::assert_snapshot!(timeline(&lengths(), "strobe", view));
}

#[test]
fn far_into_a_pattern() {
    let view = View {
        start: Time::from_millis(3_600_000),
        span: Some(Time::from_millis(10_000)),
        ..View::default()
    };
    insta::assert_snapshot!(timeline(&lengths(), "settling", view));
}

#[test]
fn the_seed_decides_what_is_drawn() {
    let design = lengths();
    let with = |seed| {
        let view = View {
            seed,
            ..View::default()
        };
        timeline(&design, "lapping", view)
    };
    assert_eq!(with(7), with(7));
    assert_ne!(with(7), with(8));
    assert!(with(7).contains("seed 7"));
}
