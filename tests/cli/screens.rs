//! Every screen that a person reads.

use crate::cli::support::{Desk, scenario};

/// The commands, by name.
const COMMANDS: &[&str] = &[
    "new",
    "build",
    "preview",
    "curve",
    "budget",
    "diff",
    "wiring",
    "verify",
    "chips",
    "explain",
    "keys",
    "schema",
    "completions",
    "manual",
];

#[test]
fn help() {
    let desk = Desk::new();
    insta::assert_snapshot!("help", desk.run("--help").shown());
    for command in COMMANDS {
        insta::assert_snapshot!(
            format!("help_{command}"),
            desk.run(&format!("{command} --help")).shown()
        );
    }
}

#[test]
fn every_command_has_its_help_in_here() {
    let help = Desk::new().run("--help").out;
    let listed: Vec<&str> = help
        .lines()
        .skip_while(|line| !line.starts_with("Commands:"))
        .skip(1)
        .take_while(|line| !line.is_empty())
        .filter_map(|line| line.split_whitespace().next())
        .filter(|name| *name != "help")
        .collect();
    assert_eq!(listed, COMMANDS);
}

/// An option is one thing, whichever command has it.
#[test]
fn options_mean_the_same_wherever_they_are() {
    let desk = Desk::new();
    let told = |option: &str| -> Vec<(&str, String)> {
        let told = COMMANDS.iter().filter_map(|command| {
            let help = desk.run(&format!("{command} -h")).out;
            let line = help.lines().find(|line| line.contains(option))?;
            let (_, about) = line.trim().split_once("  ").unwrap_or_default();
            Some((*command, about.trim().to_string()))
        });
        told.collect()
    };
    let quiet = told("-q, --quiet");
    let commands: Vec<&str> = quiet.iter().map(|(command, _)| *command).collect();
    assert_eq!(commands, ["build", "budget", "diff", "verify"]);
    for (command, about) in &quiet {
        assert_eq!(about, "Print nothing when all is well", "{command}");
    }
    for (command, about) in told("--ascii") {
        assert_eq!(about, "Use plain ASCII", "{command}");
    }
    let patterns = told("-p, --pattern <NAME>");
    assert_eq!(patterns.len(), 3);
    for (command, about) in patterns {
        assert!(
            about.contains("this pattern only; can be given several times [default: all"),
            "{command}: {about}"
        );
    }
}

#[test]
fn several_patterns_can_be_asked_for() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let answer = desk.run("preview light.yaml -p warning -p candles");
    assert!(answer.out.contains("warning:") && answer.out.contains("candles:"));
    assert!(!answer.out.contains("night:") && !answer.out.contains("steady"));
}

#[test]
fn reports() {
    let desk = Desk::with(&scenario("platform.yaml"));
    for (name, command) in [
        ("preview", "preview light.yaml"),
        (
            "preview_ascii",
            "preview light.yaml --ascii --width 70 --seed 7",
        ),
        (
            "preview_of_one",
            "preview light.yaml -p warning --start 1s --span 4s",
        ),
        ("curve", "curve light.yaml --every 4"),
        ("curve_ascii", "curve light.yaml --every 8 --ascii"),
        ("chips", "chips"),
        ("chip_with_two_rows_of_legs", "chips ATtiny85"),
        ("chip_with_four_rows_of_legs", "chips atmega32u4"),
        ("explain", "explain p002"),
    ] {
        insta::assert_snapshot!(name, desk.run(command).shown());
    }
}

#[test]
fn a_report_in_ascii_is_ascii() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let other = scenario("platform.yaml").replace("{hold: 2 s}", "{hold: 3 s}");
    desk.write("other.yaml", &other);
    for command in [
        "preview light.yaml",
        "curve light.yaml",
        "budget light.yaml",
        "diff light.yaml other.yaml",
        "chips attiny85",
    ] {
        let text = desk.run(&format!("{command} --ascii")).out;
        assert!(text.is_ascii() && !text.is_empty(), "{command}");
        assert!(!desk.run(command).out.is_ascii(), "{command}");
    }
}

#[test]
fn the_width_is_kept() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let other = scenario("platform.yaml").replace("{hold: 2 s}", "{hold: 3 s}");
    desk.write("other.yaml", &other);
    for command in ["preview light.yaml", "diff light.yaml other.yaml"] {
        let text = desk.run(&format!("{command} --width 60")).out;
        let drawn = |line: &&str| command.starts_with("preview") || line.contains(['▂', '▃', '┬']);
        let lines = text.lines().filter(drawn);
        let widths: Vec<usize> = lines.map(|line| line.chars().count()).collect();
        assert!(widths.len() > 2, "{text}");
        assert!(widths.iter().all(|width| *width <= 60), "{text}");
    }
}

#[test]
fn what_is_not_there() {
    let desk = Desk::with(&scenario("platform.yaml"));
    for (name, command) in [
        ("no_such_file", "build lihgt.yaml"),
        ("no_such_pattern", "preview light.yaml -p nihgt"),
        ("no_such_chip", "chips attiny2313b"),
        ("no_such_code", "explain Z123"),
        ("no_unit", "preview light.yaml --span 5"),
        ("no_time_at_all", "preview light.yaml --span 0s"),
        ("no_such_command", "bulid light.yaml"),
        ("nothing_asked", ""),
    ] {
        insta::assert_snapshot!(name, desk.run(command).shown());
    }
}

#[test]
fn explain_lists_every_code() {
    let listed = Desk::new().run("explain").out;
    for entry in duskloom::diagnostic::codes::all() {
        assert!(listed.contains(&format!("{}  {}\n", entry.code, entry.title)));
    }
}
