//! Libraries of patterns: each plays, moves, and may be shown to anybody.

use duskloom::board;

use crate::demos::support::{design_of, root};

/// Of those that are no charted rhythm: `tests/demos/marine.rs` has these.
const NATURAL: [&str; 3] = ["flames", "street", "living"];

/// Patterns of a library, by their names.
fn patterns(library: &str) -> Vec<String> {
    let text = std::fs::read_to_string(root().join(format!("patterns/library/{library}.yaml")));
    let text = text.expect("a library");
    let (_, patterns) = text.split_once("\npatterns:\n").expect("patterns");
    let names = patterns
        .lines()
        .filter_map(|line| line.strip_prefix("  ")?.strip_suffix(':'));
    names
        .filter(|name| !name.starts_with([' ', '#', '-']))
        .map(String::from)
        .collect()
}

fn report(library: &str, pattern: &str) -> board::Board {
    let text = format!(
        "chip: attiny85\nchannels: 1\nuse: patterns/library/{library}.yaml\npatterns:\n  sight:\n    tracks: [{{channels: ch1, play: {pattern}}}]\nshows: [solo: {{patterns: [sight]}}]\n"
    );
    board::report(&design_of(&text))
}

/// WCAG 2.2, success criterion 2.3.1, with the chip's oscillator at its fastest, in each of sixteen
/// minutes that were drawn.
#[test]
fn none_flashes_more_than_three_times_in_a_second() {
    for library in NATURAL {
        let names = patterns(library);
        assert!(names.len() >= 3, "{library}: {names:?}");
        for name in names {
            for scene in report(library, &name).scenes {
                assert!(scene.flashes.worst.passes, "{name}: {:?}", scene.flashes);
                assert!(!scene.constant, "{name} stays as it is");
            }
        }
    }
}

/// By the lightness that each spends its time at: a candle is mostly bright, embers are not, and a
/// shed with a welder in it is mostly dark.
#[test]
fn each_looks_like_what_it_is_called() {
    let on = |library, name| report(library, name).scenes[0].on[0].0;
    let [candle, hearth, embers] = ["candle", "hearth", "embers"].map(|name| on("flames", name));
    assert!(
        candle > hearth && hearth > embers,
        "{candle} {hearth} {embers}"
    );
    assert!(on("street", "welding") < 0.5);
    assert!(on("street", "faulty-tube") > 0.5);
    assert!(on("living", "firefly") < 0.1);
    // Once a second, within the tick: a heart at rest.
    let heart = report("living", "heartbeat").scenes[0]
        .period
        .expect("it comes round");
    assert!((heart.0 - 1.0).abs() < 0.01, "{heart:?}");
}
