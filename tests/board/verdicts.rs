//! What may hurt people is found, with the moment and the smallest change that passes.

use duskloom::board;
use duskloom::board::flicker::Risk;
use duskloom::diagnostic::Severity;
use duskloom::row::Judgement;

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

/// Bit-angle modulation at 16 MHz comes 3906 times a second, and IEEE Std 1789-2015 has no limit of modulation from
/// 3000 Hz on (0.0333 % a hertz, 'no observable effect'); at 8 MHz it is 1953 times, at low risk up to 156 % (0.08 %).
#[test]
fn a_port_at_sixteen_megahertz_has_no_observable_effect() {
    let of = |clock: &str| {
        let text = format!(
            "chip: attiny4313\nclock: {clock}\nchannels: 8\npwm: {{drive: port}}\n\
             patterns: {{tide: [{{wave: sine, period: 2 s}}]}}\n"
        );
        board::report(&made_of(&text)).flicker
    };
    let fast = of("16 MHz crystal");
    assert_eq!(fast.risk, Risk::NoEffect, "{fast:?}");
    assert_eq!(fast.levels[1..], [0, 0]);
    let usual = of("8 MHz internal");
    assert_eq!(usual.risk, Risk::Low, "{usual:?}");
}

#[test]
fn light_that_is_dithered_too_slowly_flickers() {
    let board = board::report(&design("coarse.yaml"));
    assert_eq!(board.flicker.risk, Risk::High);
    let slowest = board.flicker.remedy.expect("less depth would do");
    assert!(slowest.0 > 1250.0, "{slowest}");
    // The clock is 10 % slow at worst, and that is what was judged.
    let plan = design("coarse.yaml").plan;
    let nominal = plan.drive.pwm().slowest.0;
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

fn flashes(text: &str) -> board::SceneFlashes {
    board::report(&made_of(text)).scenes[0].flashes.clone()
}

/// WCAG 2.2, 'general flash': what is seen as one area. The sum of two strings that take turns stands
/// still, and each of them goes on and off ten times a second; eleven begin
/// within a second by a crystal that may be a little fast.
#[test]
fn strings_that_take_turns_flash_each_by_itself() {
    let found = flashes(
        "chip: attiny2313a\nclock: 8 MHz crystal\nchannels: [left, right]\npatterns:\n  turns:\n    \
         tracks:\n      - {channels: left, steps: [{rhythm: [50 ms, 50 ms]}]}\n      \
         - {channels: right, steps: [{rhythm: [50 ms, 50 ms]}], ahead: 50 ms}\n",
    );
    assert_eq!((found.failing, found.worst.flashes), (1, 11));
    assert_eq!(found.of, "`left`");
    assert_eq!(found.likewise, ["`right`"]);
    assert!(found.remedy.is_some());
}

/// Two of six strings flash twice a second each, in turn, at half of their light: that is a flash every
/// 250 ms where the two hang, five of which begin within a second by a crystal that may be a little
/// fast, and 8 % of the whole light.
#[test]
fn a_group_flashes_where_neither_a_string_nor_the_sum_does() {
    let text = |groups: &str| {
        format!(
            "chip: atmega328p\nclock: 16 MHz crystal\nchannels: [a, b, c, d, e, f]\n\
             {groups}patterns:\n  pair:\n    tracks:\n      \
             - {{channels: a, steps: [{{rhythm: [60 ms, 440 ms], high: 75 %}}]}}\n      \
             - {{channels: b, steps: [{{rhythm: [60 ms, 440 ms], high: 75 %}}], ahead: 250 ms}}\n"
        )
    };
    assert_eq!(flashes(&text("")).failing, 0);
    let found = flashes(&text("groups: {gate: [a, b]}\n"));
    assert_eq!((found.failing, found.worst.flashes), (1, 5));
    assert_eq!(found.of, "group `gate`");
}

/// One accepted candle does not switch the check off for the others.
#[test]
fn a_pattern_is_accepted_by_itself() {
    let text = |candle: &str, other: &str, project: &str| {
        format!(
            "chip: attiny2313a\nchannels: 1\n{project}patterns:\n  \
             candle: {{{candle}steps: [{{rhythm: [50 ms, 50 ms]}}]}}\n  \
             other: {{{other}steps: [{{rhythm: [{{}}, 400 ms]}}]}}\n"
        )
    };
    let verdict = |text: String| {
        let board = board::report(&made_of(&text));
        let row = board.rows.iter().find(|row| row.name == "flashes");
        let row = row.expect("always there").clone();
        (row.verdict, row.note)
    };
    let calm = |candle| text(candle, "", "").replace("{}", "400 ms");
    let wild =
        |candle, other, project| text(candle, other, project).replace("{}, 400", "80 ms, 80");
    let accepted = "flashing: accepted, ";
    assert_eq!(verdict(calm("")).0, Judgement::Over);
    assert_eq!(verdict(calm(accepted)).0, Judgement::Caution);
    let (over, note) = verdict(wild(accepted, "", ""));
    assert_eq!(over, Judgement::Over);
    assert!(note.starts_with("`other`"), "{note}");
    assert!(note.contains("`candle` (accepted)"), "{note}");
    assert_eq!(verdict(wild(accepted, accepted, "")).0, Judgement::Caution);
    // The project's word is for patterns that say nothing, and theirs goes before it.
    let project = "flashing: accepted\n";
    assert_eq!(verdict(wild("", "", project)).0, Judgement::Caution);
    let (over, note) = verdict(wild("", "flashing: refused, ", project));
    assert_eq!(over, Judgement::Over);
    assert!(note.starts_with("`other`"), "{note}");
}

/// IEEE Std 1789-2015, recommended practice 1 (from memory): 2.08 % at 83 Hz, 1.56 % at 62.5 Hz.
#[test]
fn flicker_that_a_pattern_makes_is_judged() {
    let judged = |steps: &str| {
        let design = made_of(&format!(
            "chip: attiny2313a\nclock: 8 MHz crystal\ntick: 4 ms\nchannels: [lamp]\n\
             patterns: {{hum: [{steps}]}}\n"
        ));
        let board = board::report(&design);
        let said = duskloom::row::objections(&board.rows);
        let wobble = board.scenes[0].wobble;
        (wobble, said.iter().any(|said| said.code == "E043"))
    };
    for (steps, frequency) in [
        (
            "{set: 70 %}, {hold: 4 ms}, {set: 72 %}, {hold: 8 ms}",
            1000.0 / 12.0,
        ),
        ("{set: 60 %}, {hold: 8 ms}, {set: 65 %}, {hold: 8 ms}", 62.5),
    ] {
        let (wobble, told) = judged(steps);
        let component = wobble.expect("it moves to and fro").component;
        assert!(
            (component.frequency.0 / frequency - 1.0).abs() < 0.01,
            "{component:?}"
        );
        assert!(component.strain() > 1.0 && told, "{component:?}");
    }
    let slow = "{set: 60 %}, {hold: 40 ms}, {set: 65 %}, {hold: 40 ms}";
    assert_eq!(judged(slow), (None, false));
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
        let said = duskloom::row::objections(&board.rows);
        let flashes = said.iter().find(|said| said.code == "E041");
        assert_eq!(flashes.expect("it flashes").severity, severity);
    }
}
