//! What differs between two versions, in the terms of who looks at it.

use duskloom::design::Design;
use duskloom::diff::{ChangeKind, Difference, diff, markdown, text};

use crate::see::support::{HALT, demo, design, halt_with};

fn between(old: &Design, new: &Design) -> Difference {
    diff(("old.yaml", old), ("new.yaml", new))
}

#[test]
fn nothing_differs_from_itself() {
    for name in ["harbour.yaml", "theatre.yaml", "lantern.yaml"] {
        let design = demo(name);
        let difference = between(&design, &design);
        assert!(difference.is_none(), "{difference:#?}");
        assert_eq!(difference.same_patterns, design.project.patterns.len());
    }
}

#[test]
fn comments_and_the_order_of_keys_are_no_difference() {
    let old = design(HALT);
    let new = halt_with(&[
        ("# A model railway halt", "# A halt at dusk"),
        (
            "{to: 80 %, over: 1 s, ease: soft}",
            "{ease: soft, over: 1000 ms, to: 80 %}",
        ),
    ]);
    assert!(between(&old, &new).is_none());
}

/// From 2 s on the signal holds for 1 s longer; then everything comes 1 s later.
#[test]
fn a_longer_hold_moves_what_follows() {
    let old = design(HALT);
    let new = halt_with(&[("{hold: 2 s}", "{hold: 3 s}")]);
    let difference = between(&old, &new);
    assert!(difference.light_differs);
    let [night] = difference.patterns.as_slice() else {
        panic!("{difference:#?}")
    };
    assert_eq!(
        (night.name.as_str(), night.kind),
        ("night", ChangeKind::Changed)
    );
    assert_eq!(
        (night.round.old.as_str(), night.round.new.as_str()),
        ("4 s", "5 s")
    );
    let lamps = &night.channels[0];
    let (later, at) = lamps.later.expect("the fade out begins later");
    assert!(
        (later - 1.0).abs() < 0.01 && (at - 3.0).abs() < 0.01,
        "{later} at {at}"
    );
    // 80 % to 20 % in a second: after a second the old is 60 L* darker.
    let span = lamps.spans[0];
    assert!((span.from - 3.0).abs() < 0.05, "{span:?}");
    assert!((span.most.0 - 60.0).abs() < 1.5, "{span:?}");
}

/// What a project or a pattern accepts is said in words, and is worse where it was not before.
#[test]
fn flashing_that_is_accepted_is_a_change() {
    let quick = "flash: [{rhythm: [100 ms, 100 ms]}]\n  night:";
    let old = halt_with(&[("night:", quick)]);
    let accepted = "flash: {flashing: accepted, steps: [{rhythm: [100 ms, 100 ms]}]}\n  night:";
    let new = halt_with(&[("night:", accepted)]);
    let said = text(&between(&old, &new), false);
    assert!(said.contains("flashing of flash"), "{said}");
    assert!(said.contains("accepted"), "{said}");
    assert!(!between(&old, &new).light_differs, "{said}");
}

#[test]
fn a_brighter_level_is_brighter_by_so_much() {
    let old = design(HALT);
    let new = halt_with(&[("{to: 80 %, over: 1 s", "{to: 90 %, over: 1 s")]);
    let difference = between(&old, &new);
    let lamps = &difference.patterns[0].channels[0];
    // Levels are 3.2 L* apart.
    assert!((lamps.most.0 - 10.0).abs() < 1.7, "{lamps:?}");
    assert!(lamps.mean[1].0 > lamps.mean[0].0);
    assert_eq!(difference.same_patterns, 2);
    assert!(
        difference
            .rows
            .iter()
            .any(|row| row.program.starts_with("night"))
    );
}

#[test]
fn what_does_not_alter_the_light_is_said_not_to() {
    let old = design(HALT);
    let new = halt_with(&[("signal: {pin: PD5", "signal: {pin: PB3")]);
    let difference = between(&old, &new);
    assert!(!difference.light_differs && !difference.is_none());
    assert_eq!(
        difference.summary,
        "The light stays as it is; what differs is below."
    );
    assert!(difference.plan.iter().any(|fact| {
        fact.what == "channel signal" && fact.old.starts_with("PD5") && fact.new.starts_with("PB3")
    }));
}

/// Another transistor is no other light at the pins; that it is one at the LEDs is said.
#[test]
fn a_slow_transistor_is_a_difference_at_the_leds() {
    let with = |string: &str| {
        let strings = format!(
            "pwm: {{frequency: 31.25 kHz}}\n\
             strings: {{all: {{forward: 3.0 V, current: 10 mA, {string}}}}}\npatterns:"
        );
        halt_with(&[("patterns:", &strings)])
    };
    let (old, new) = (
        with("transistor: 2n3904, drive: sink"),
        with("transistor: 2n2222"),
    );
    let difference = between(&old, &new);
    assert!(!difference.light_differs);
    assert!(
        difference.summary.contains("not at the LEDs"),
        "{}",
        difference.summary
    );
    assert!(difference.plan.iter().any(|fact| {
        fact.what.starts_with("string ")
            && fact.old.contains("2n3904 as a sink")
            && fact.new.ends_with("2n2222")
    }));
    let row = difference.budget.iter().find(|row| row.name == "led");
    assert!(row.is_some_and(|row| row.difference.is_some_and(|more| more > 3.0)));
    let worse = difference
        .safety
        .iter()
        .find(|change| change.what == "error at the LED");
    assert!(worse.is_some_and(|change| change.worse));
}

#[test]
fn a_new_name_alone_is_no_other_light() {
    let old = design(HALT);
    let new = halt_with(&[("  night:", "  late-evening:")]);
    let difference = between(&old, &new);
    let [renamed] = difference.patterns.as_slice() else {
        panic!("{difference:#?}")
    };
    assert_eq!(renamed.kind, ChangeKind::Renamed);
    assert_eq!(renamed.was.as_deref(), Some("night"));
    assert!(!difference.light_differs && !difference.is_none());
    assert!(difference.conduct.is_empty() && difference.rows.is_empty());
    assert!(
        text(&difference, false)
            .contains("\nlate-evening: renamed, was `night`; it plays the same\n")
    );
    assert!(!markdown(&difference, false).contains("```text\n```"));
}

#[test]
fn a_pattern_renamed_and_changed_is_another_one() {
    let new = halt_with(&[
        ("  night:", "  late-evening:"),
        ("{hold: 2 s}", "{hold: 3 s}"),
    ]);
    let kinds: Vec<ChangeKind> = between(&design(HALT), &new)
        .patterns
        .iter()
        .map(|change| change.kind)
        .collect();
    assert_eq!(kinds, [ChangeKind::Added, ChangeKind::Removed]);
}

#[test]
fn a_trim_alters_one_channel_of_all_patterns() {
    let difference = between(&design(HALT), &halt_with(&[("trim: 70 %", "trim: 50 %")]));
    assert_eq!(difference.patterns.len(), 3);
    for pattern in &difference.patterns {
        let channels: Vec<&str> = pattern
            .channels
            .iter()
            .map(|c| c.channel.as_str())
            .collect();
        assert_eq!(channels, ["signal"], "{}", pattern.name);
        assert!(pattern.channels[0].most.0 < 0.0);
    }
    assert!(difference.rows.is_empty());
}

#[test]
fn shows_and_button_are_what_it_does_by_itself() {
    let difference = between(
        &design(HALT),
        &halt_with(&[("dwell: 5 s .. 20 s", "dwell: 5 s .. 30 s")]),
    );
    assert!(difference.light_differs && difference.patterns.is_empty());
    assert_eq!(difference.conduct[0].what, "show 1");
}

#[test]
fn steady_levels_are_light() {
    let difference = between(
        &design(HALT),
        &halt_with(&[("steady: {levels: 4}", "steady: {levels: 5}")]),
    );
    assert!(difference.light_differs);
}

/// A pattern added, one removed, one changed, another chip and another curve.
fn much() -> Difference {
    let new = halt_with(&[
        ("attiny2313a", "attiny4313"),
        (
            "{rhythm: [200 ms, 300 ms, 200 ms, 1300 ms]}",
            "{rhythm: [200 ms, 300 ms, 300 ms, 1200 ms]}",
        ),
        ("candles:", "lanterns:"),
        ("dwell: 5 s", "dwell: 6 s"),
    ]);
    between(&design(HALT), &new)
}

#[test]
fn the_reports() {
    let difference = much();
    insta::assert_snapshot!("diff_text", text(&difference, false));
    insta::assert_snapshot!("diff_markdown", markdown(&difference, false));
    insta::assert_snapshot!(
        "diff_json",
        serde_json::to_string_pretty(&difference).expect("data")
    );
}
