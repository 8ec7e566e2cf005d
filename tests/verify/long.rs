//! Times longer than one operation, on the chip: beyond 65 536 ticks, where its counters wrap.

use std::path::PathBuf;

use duskloom::verify::{Options, verify};

use crate::common::designs::from_text;

/// A slow fade of 66 000 ticks and a slow hold of 64 000, at ticks so short that they are minutes.
const PROJECT: &str = "chip: attiny2313a
channels: [quay]
tick: 1 ms
patterns:
  night:
    - {to: 15 %, over: 66 s}
    - {set: 80 %}
    - {hold: 64 s}
    - {to: 10 %, over: 2 s}
    - {hold: 1 s}
  # So long that slow lines pay. Only `night` is played.
  polar-night:
    - {to: 60 %, over: 5 h}
    - {hold: 40 h}
    - {to: 5 %, over: 5 h}
    - {hold: 100 h}
";

#[test_with::executable("avr-gcc")]
#[test]
fn slow_lines_on_the_chip_are_those_of_the_model() {
    let design = from_text(PathBuf::from("long.yaml"), PROJECT);
    assert!(design.deck.image.format.slow);
    let options = Options {
        scenes: vec!["night".to_string()],
        seconds: 136.0,
        alone: 0.0,
        behaviour: false,
        ..Options::default()
    };
    let evidence = verify(&design, &options).unwrap();
    assert!(evidence.holds(), "{evidence}");
    assert!(evidence.patterns[0].ticks > 135_000, "{evidence}");
}
