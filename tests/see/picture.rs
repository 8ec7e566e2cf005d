//! Pictures show what the model plays.

use duskloom::picture;
use duskloom::preview::{self, Recorder, View, Window};
use duskloom::spec::PatternId;
use duskloom::units::DeltaLightness;
use roxmltree::Document;

use crate::see::support::{HALT, demo, design, halt_with};

/// Where a hill of bars is, at a place: the `y` of its outline.
fn height(path: &str, x: f64) -> f64 {
    let outline = path.trim_start_matches('M').trim_end_matches('Z');
    let (_, outline) = outline.split_once(' ').expect("a start");
    let (ground, outline) = outline.split_once('H').expect("a bar");
    let mut y: f64 = ground.parse().expect("a number");
    for bar in outline.split('H') {
        let (to, next) = bar.split_once('V').expect("a bar has two sides");
        if to.parse::<f64>().expect("a number") > x {
            return y;
        }
        y = next.parse().expect("a number");
    }
    panic!("{x} is beyond the picture")
}

#[test]
fn a_hill_is_as_high_as_the_model_is_bright() {
    let design = demo("harbour.yaml");
    let svg = picture::timelines(&design, &View::default());
    let document = Document::parse(&svg).expect("well-formed XML");
    let hills: Vec<&str> = document
        .descendants()
        .filter(|node| {
            node.attribute("fill")
                .is_some_and(|fill| fill.starts_with("url(#g"))
        })
        .filter_map(|node| node.attribute("d"))
        .collect();
    let patterns = design.project.patterns.len();
    let channels = design.project.channels.len();
    assert_eq!(hills.len(), patterns * channels);

    let top = preview::top(&design).0;
    let mut checked = 0;
    for (pattern, id) in design.project.pattern_ids().enumerate() {
        let scene = preview::scene(&design, id).expect("it is played");
        let first = &hills[pattern * channels];
        let (left, _) = first[1..].split_once(' ').expect("a start");
        let left: f64 = left.parse().expect("a number");
        let room = 960.0 - 28.0 - left;
        let window = Window::new(&design, id, scene, &View::default(), room as usize);
        let width = room / window.columns as f64;
        let strip =
            Recorder::new(&design, DeltaLightness(1.0)).record(scene, window, View::default().seed);
        for (at, trace) in strip.traces.iter().enumerate() {
            let hill = hills[pattern * channels + at];
            let ground: f64 = hill[1..]
                .split_once(' ')
                .and_then(|(_, rest)| rest.split_once('H'))
                .and_then(|(ground, _)| ground.parse().ok())
                .expect("the ground");
            for (x, column) in trace.columns.iter().enumerate() {
                let drawn = ground - height(hill, left + (x as f64 + 0.5) * width);
                let due = column.lightness.0 / top * 36.0;
                assert!(
                    (drawn - due).abs() <= 0.06 || (due > 0.0 && due < 1.5 && drawn > 1.4),
                    "{} at {x}: {drawn} for {due}",
                    trace.channel
                );
                checked += 1;
            }
        }
    }
    assert!(checked > 20_000);
}

#[test]
fn pictures_are_well_formed_and_say_what_they_are() {
    for name in ["harbour.yaml", "theatre.yaml", "lantern.yaml"] {
        let design = demo(name);
        for svg in [
            picture::timelines(&design, &View::default()),
            picture::curve(&design, &duskloom::board::lamps(&design)),
        ] {
            let document = Document::parse(&svg).unwrap_or_else(|error| panic!("{name}: {error}"));
            let root = document.root_element();
            assert_eq!(root.attribute("role"), Some("img"));
            for part in ["title", "desc"] {
                let said = root
                    .children()
                    .find(|node| node.has_tag_name(("http://www.w3.org/2000/svg", part)));
                assert!(
                    said.and_then(|node| node.text())
                        .is_some_and(|text| text.len() > 5)
                );
            }
        }
    }
}

#[test]
fn a_picture_of_the_halt() {
    let design = design(HALT);
    insta::assert_snapshot!(
        "timeline_of_the_halt",
        picture::timelines(
            &design,
            &View {
                patterns: vec![PatternId(1)],
                ..View::default()
            }
        )
    );
    insta::assert_snapshot!(
        "curve_of_the_halt",
        picture::curve(&design, &duskloom::board::lamps(&design))
    );
}

#[test]
fn the_error_is_drawn_to_scale() {
    let design = halt_with(&[("levels: 32", "levels: 32, error: 2.0")]);
    let svg = picture::curve(&design, &duskloom::board::lamps(&design));
    let document = Document::parse(&svg).expect("well-formed XML");
    let bars = document
        .descendants()
        .find(|node| {
            node.has_tag_name(("http://www.w3.org/2000/svg", "path"))
                && node.attribute("class") == Some("error")
        })
        .and_then(|node| node.attribute("d"))
        .expect("errors");
    let longest = bars
        .split('M')
        .skip(1)
        .map(|bar| {
            let (_, bar) = bar.split_once(' ').expect("x and y");
            let (from, to) = bar.split_once('V').expect("a bar");
            let number = |text: &str| text.parse::<f64>().expect("a number");
            (number(from) - number(to)).abs()
        })
        .fold(0.0, f64::max);
    // 120 pixels for 1.1 times the allowed error, either way.
    let largest = design.deck.light.figures.largest_error.0.0;
    assert!(
        (longest - largest / (2.0 * 1.1) * 60.0).abs() < 0.11,
        "{longest} for {largest}"
    );
}
