//! A PWM that is slower than the tick: it is dark until its first light, and fades as the model says.

use duskloom::emit::Language;
use duskloom::verify::{Options, verify};

use crate::common::designs;

const PROJECT: &str = "
name: slow
chip: attiny2313a
clock: 8 MHz internal
pwm: {frequency: 200 Hz, slowest: 50 Hz, mode: MODE}
channels:
  hearth: {pin: PD5}
  porch:  {pin: PB2, active: low}
patterns:
  embers:
    stagger: 700 ms
    steps:
      - {to: 100 %, over: 1 s}
      - {to: 0 %, over: 1 s}
";

fn prove(mode: &str) {
    let design = designs::from_text("slow.yaml", &PROJECT.replace("MODE", mode));
    let options = Options {
        language: Language::C,
        seconds: 4.0,
        alone: 0.0,
        behaviour: false,
        ..Options::default()
    };
    let evidence = verify(&design, &options).unwrap();
    assert!(evidence.holds(), "{evidence}");
    let [pattern] = &evidence.patterns[..] else {
        panic!("one pattern: {evidence}");
    };
    assert!(pattern.ticks > 100, "{evidence}");
    assert!(
        pattern
            .channels
            .iter()
            .all(|channel| channel.light.periods > 100)
    );
}

#[test_with::executable("avr-gcc")]
#[test]
fn fast() {
    prove("fast");
}

#[test_with::executable("avr-gcc")]
#[test]
fn phase_correct() {
    prove("phase-correct");
}
