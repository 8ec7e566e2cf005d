//! Projects that are wrong, or that deserve a caution.

use crate::cli::support::{Desk, scenario};

#[test]
fn advice_on_the_wiring_stops_nothing_and_is_for_who_wires() {
    // A pin that a programmer needs too.
    let project = scenario("platform.yaml").replace("{pin: PD2}", "{pin: PB5}");
    let desk = Desk::with(&project);
    for command in [
        "build light.yaml --quiet",
        "preview light.yaml",
        "budget light.yaml",
    ] {
        let answer = desk.run(command);
        assert_eq!((answer.status, answer.err.as_str()), (0, ""), "{command}");
    }
    for command in ["build light.yaml", "wiring light.yaml"] {
        let answer = desk.run(command);
        insta::assert_snapshot!("caution", answer.err);
        assert_eq!(answer.status, 0);
    }
}

#[test]
fn a_pin_of_the_programmer_is_no_matter_where_the_parts_list_keeps_it_free() {
    let said = |rest: &str| {
        let text = format!(
            "chip: attiny85\nchannels: {{lamp: {{pin: PB0}}}}\npatterns: {{x: [{{set: 10 %, hold: 1 s}}, {{to: 80 %, over: 1 s}}]}}\n\
             supply: {{volts: 5 V, limit: 500 mA}}\n{rest}\n"
        );
        let answer = Desk::with(&text).run("wiring light.yaml");
        assert_eq!(answer.status, 0, "{}", answer.shown());
        answer.err
    };
    let string = |switch: &str| {
        said(&format!(
            "strings: {{lamp: {{forward: 2 V, current: 10 mA, switch: {switch}, from: supply}}}}"
        ))
    };
    assert_eq!(string("npn"), "");
    assert_eq!(string("mosfet"), "");
    let direct = string("pin");
    assert!(
        direct.contains("C016") && !direct.contains("1 kohm"),
        "{direct}"
    );
    let pump = said("charge_pump: {pins: [PB1, PB2], stages: 1, capacitor: 1 uF}");
    assert!(pump.contains("PB1 (MISO), PB2 (SCK)"), "{pump}");
    assert!(
        pump.contains("another pin: a resistor would spoil the pump"),
        "{pump}"
    );
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
