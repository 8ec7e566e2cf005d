//! What may hurt people is found, with the moment and the smallest change that passes.

use duskloom::board;
use duskloom::board::flicker::Risk;
use duskloom::budget::Judgement;
use duskloom::diagnostic::Severity;

use crate::board::project::{design, made_of};

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
    // Ten flashes a second, eleven where the clock is 10 % fast; a factor of 11 / 3 brings three.
    let strobe = &scene("strobe").flashes;
    assert_eq!((strobe.failing, strobe.worst.flashes), (1, 11));
    let remedy = strobe.remedy.expect("it fails");
    assert!((remedy.slower - 11.0 / 3.0).abs() < 0.05, "{remedy:?}");
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

/// Three a second pass by a clock that is true, and not by one that may be a tenth faster.
#[test]
fn flashes_are_counted_by_the_fastest_clock() {
    let flashing = |clock: &str| {
        let text = format!(
            "chip: attiny2313a\nclock: {clock}\nchannels: 1\n\
             patterns: {{quick: [{{rhythm: [160 ms, 175 ms]}}]}}\n"
        );
        let board = board::report(&made_of(&text));
        board.scenes[0].flashes.worst
    };
    assert_eq!(flashing("8 MHz crystal").flashes, 3);
    assert!(flashing("8 MHz crystal").passes);
    assert!(!flashing("8 MHz internal").passes);
}

/// Who flashes must say so: then it is a caution, and the card begins with it.
#[test]
fn flashes_are_refused_unless_accepted() {
    let text = "chip: attiny2313a\nchannels: 1\npatterns: {strobe: [{rhythm: [50 ms, 50 ms]}]}\n";
    for (more, verdict, severity) in [
        ("", Judgement::Over, Severity::Error),
        ("flashing: refused\n", Judgement::Over, Severity::Error),
        (
            "flashing: accepted\n",
            Judgement::Caution,
            Severity::Caution,
        ),
    ] {
        let design = made_of(&format!("{text}{more}"));
        let board = board::report(&design);
        let row = board.rows.iter().find(|row| row.name == "flashes");
        assert_eq!(row.expect("always there").verdict, verdict);
        let said = board::objections(&board, &design.project);
        let flashes = said.iter().find(|said| said.code == "E041");
        assert_eq!(flashes.expect("it flashes").severity, severity);
    }
}
