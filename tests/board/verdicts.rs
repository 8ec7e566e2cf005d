//! What may hurt people is found, with the moment and the smallest change that passes.

use duskloom::board;
use duskloom::board::flicker::Risk;
use duskloom::budget::Judgement;

use crate::project::design;

#[test]
fn a_strobe_fails_and_says_what_would_pass() {
    let board = board::report(&design("strobe.yaml"));
    let scene = |name: &str| {
        board
            .scenes
            .iter()
            .find(|scene| scene.name == name)
            .expect(name)
    };
    // Ten flashes a second; a factor of 10 / 3 brings three.
    let strobe = &scene("strobe").flashes;
    assert_eq!((strobe.failing, strobe.worst.flashes), (1, 10));
    let remedy = strobe.remedy.expect("it fails");
    assert!((remedy.slower - 10.0 / 3.0).abs() < 0.05, "{remedy:?}");
    assert!(remedy.dimmer < 0.1, "{remedy:?}");
    // Two flashes a second pass, and so does a slow fade.
    assert_eq!(scene("slow").flashes.failing, 0);
    assert_eq!(scene("calm").flashes.worst.flashes, 1);
    let row = board
        .rows
        .iter()
        .find(|row| row.name == "flashes")
        .expect("always there");
    assert_eq!(row.verdict, Judgement::Over);
    assert!(row.note.contains("strobe"), "{row:?}");
}

#[test]
fn light_that_is_dithered_too_slowly_flickers() {
    let board = board::report(&design("coarse.yaml"));
    assert_eq!(board.flicker.risk, Risk::High);
    let slowest = board.flicker.remedy.expect("less depth would do");
    assert!(slowest.0 > 1250.0, "{slowest}");
    // The clock is 10 % slow at worst, and that is what was judged.
    let plan = design("coarse.yaml").plan;
    let nominal = plan.pwm.slowest.0;
    assert!((board.flicker.slowest.expect("it is dithered").0 - 0.9 * nominal).abs() < 1e-6);
}

#[test]
fn an_inexact_clock_is_told() {
    let board = board::report(&design("bare.yaml"));
    let [least, most] = board.clock.minute;
    assert!((least - 60.0 / 1.1).abs() < 0.01 && (most - 60.0 / 0.9).abs() < 0.01);
    assert!((board.clock.pwm.least.0 / board.clock.pwm.most.0 - 0.9 / 1.1).abs() < 1e-9);
}
