//! Projects that are wrong, or that deserve a caution.

use crate::cli::support::{Desk, scenario};

#[test]
fn a_caution_is_said_and_stops_nothing() {
    // A pin that a programmer needs too.
    let project = scenario("platform.yaml").replace("{pin: PD2}", "{pin: PB5}");
    let answer = Desk::with(&project).run("build light.yaml --quiet");
    insta::assert_snapshot!("caution", answer.shown());
    assert_eq!(answer.status, 0);
    assert!(answer.err.contains("caution"), "{}", answer.err);
}

#[test]
fn every_command_about_a_project_says_what_is_wrong_with_it() {
    let desk = Desk::with(&scenario("platform.yaml").replace("over: 1 s}", "over: 1}"));
    for command in ["build", "preview", "curve"] {
        let answer = desk.run(&format!("{command} light.yaml"));
        assert_eq!((answer.status, answer.out.as_str()), (1, ""));
        assert!(answer.err.contains("light.yaml:12"), "{}", answer.err);
    }
}

#[test]
fn what_only_lowering_finds_is_said_with_its_place() {
    let project = scenario("platform.yaml")
        .replace("{hold: 2 s}", "{hold: 10 us}")
        .replace("button: {pin: PD2}", "button: {pin: PD2}\ntick: 5 ms");
    insta::assert_snapshot!(
        "shorter_than_a_tick",
        Desk::with(&project).run("build light.yaml").shown()
    );
}

#[test]
fn patterns_beyond_any_chip_are_refused() {
    let mut project =
        "name: long\nchip: atmega328p\nchannels: 1\npatterns:\n  endless:\n".to_string();
    for n in 0..20_000 {
        project += &format!(
            "    - {{to: {} %, over: {} ms}}\n",
            n * 37 % 101,
            20 + n % 997
        );
    }
    insta::assert_snapshot!(
        "more_than_any_chip_holds",
        Desk::with(&project).run("build light.yaml").shown()
    );
}
