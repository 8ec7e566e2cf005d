//! `new --with`: a project to start from that has more than strings, patterns and a button.

use duskloom::chip;
use duskloom::design::Design;
use duskloom::spec::{self, Project};
use duskloom::units::Time;
use proptest::prelude::*;

use crate::cli::support::Desk;

/// One of each kind, and one that lacks something: the 2313A a converter, the ATmega8 a watchdog's interrupt.
const CHIPS: [&str; 8] = [
    "attiny13a",
    "attiny25",
    "attiny84a",
    "attiny2313a",
    "attiny861a",
    "atmega8",
    "atmega328p",
    "atmega32u4",
];

/// What those cannot have.
const IMPOSSIBLE: [(&str, &str); 4] = [
    ("attiny2313a", "knob"),
    ("attiny2313a", "sensor"),
    ("atmega8", "sensor"),
    ("atmega8", "evening"),
];

/// Fuses and calibration of a chip as it is delivered, whatever a project has.
const CAUTIONS: [&str; 3] = ["caution[C006]", "caution[C008]", "caution[C019]"];

/// All there are, as the tool itself lists them.
fn words() -> Vec<String> {
    let told = Desk::new().run("new porch --with nothing").err;
    let list = told
        .split_once("possible values: ")
        .and_then(|(_, rest)| rest.split_once(']'));
    let (list, _) = list.unwrap_or_else(|| panic!("{told}"));
    list.split(", ").map(str::to_string).collect()
}

/// Whether a project has what a word asks for.
fn has(project: &Project, word: &str) -> bool {
    match word {
        "button" => project.button.is_some(),
        "contact" => !project.contacts.is_empty(),
        "switch" => project.selector.is_some(),
        "knob" => project.knob.is_some(),
        "sensor" => project.sensor.is_some(),
        "evening" => project.evening.is_some(),
        "standby" => project.standby.is_some(),
        "start" => project.start.is_some(),
        "fade" => project.change_fade.value == Time::from_millis(600), // Evenings fade in two seconds anyway.
        _ => panic!("how `{word}` shows in a project is not tested"),
    }
}

/// `porch.yaml` has what was asked for and nothing that nobody did, is valid, and builds with no complaint but of
/// the chip.
fn holds(desk: &Desk, asked: &[String], all: &[String], chip: &str) {
    let text = desk.read("porch.yaml");
    let value: serde_json::Value = serde_yaml::from_str(&text).expect("plain YAML");
    let schema = jsonschema::validator_for(&spec::schema().to_value()).expect("a sound schema");
    assert!(schema.is_valid(&value), "{chip}, {asked:?}\n{text}");

    let build = desk.run("build porch.yaml --quiet");
    assert_eq!(build.status, 0, "{chip}, {asked:?}: {}", build.shown());
    let said = build.err.lines().filter(|line| line.contains("]: "));
    let of_the_chip = |line: &&str| CAUTIONS.iter().any(|code| line.contains(code));
    let others: Vec<&str> = said.filter(|line| !of_the_chip(line)).collect();
    assert_eq!(others, [""; 0], "{chip}, {asked:?}\n{text}");
    let check = desk.run("build porch.yaml --check --quiet");
    assert_eq!(check.status, 0, "{chip}, {asked:?}: {}", check.shown());

    let design = Design::read(&desk.path("porch.yaml")).expect("it was built");
    for word in all {
        let wanted = asked.contains(word) || word == "button";
        assert_eq!(
            has(&design.project, word),
            wanted,
            "{chip}, {asked:?}: {word}\n{text}"
        );
    }
}

#[test]
fn each_word_alone_is_had_by_every_chip_that_can() {
    let all = words();
    assert!(all.len() >= 9, "{all:?}");
    for chip in CHIPS {
        for word in &all {
            let desk = Desk::new();
            let new = desk.run(&format!("new porch --chip {chip} --with {word}"));
            if IMPOSSIBLE.contains(&(chip, word)) {
                assert_eq!(new.status, 2, "{}", new.shown());
                assert!(
                    new.err.contains(&format!("cannot have `{word}`")),
                    "{}",
                    new.err
                );
                assert!(desk.list(".").is_empty());
            } else {
                assert_eq!(new.status, 0, "{chip}, {word}: {}", new.shown());
                holds(&desk, std::slice::from_ref(word), &all, chip);
            }
        }
    }
}

/// Where no chip is asked for, it is one that can have it, and that is said.
#[test]
fn without_a_chip_it_chooses_one() {
    let desk = Desk::new();
    let new = desk.run("new porch --with knob,sensor");
    assert_eq!(new.status, 0, "{}", new.shown());
    let text = desk.read("porch.yaml");
    let chip = text.lines().find_map(|line| line.strip_prefix("chip: "));
    let chip = chip::find(chip.expect("it names one")).expect("it exists");
    assert!(chip.converter.is_some());
    let said = format!("wrote porch.yaml for the {}", chip.title);
    assert!(new.out.starts_with(&said), "{}", new.out);
}

/// The first chip that a refusal names.
fn instead(told: &str) -> &str {
    let names = told.split_once("with --chip ").map(|(_, names)| names);
    names
        .and_then(|names| names.split([',', ' ']).next())
        .unwrap_or_else(|| panic!("no other chip in: {told}"))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is asked for together on whatever chip is written and builds, or is refused and had on the chip
    /// that the refusal names, if it names any.
    #[test]
    fn words_together_build_or_are_refused(
        chip in 0..chip::all().count(),
        drawn in prop::collection::vec(any::<bool>(), 16),
    ) {
        let all = words();
        let asked = all.iter().zip(drawn).filter(|(_, is)| *is);
        let asked: Vec<String> = asked.map(|(word, _)| word.clone()).collect();
        let with = match asked.as_slice() {
            [] => String::new(),
            words => format!("--with {}", words.join(",")),
        };
        let chip = &chip::all().nth(chip).expect("one of them").name;
        let desk = Desk::new();
        let new = desk.run(&format!("new porch --chip {chip} {with}"));
        if new.status != 0 {
            prop_assert_eq!(new.status, 2, "{}", new.shown());
            prop_assert!(desk.list(".").is_empty());
            let other = instead(&new.err);
            let again = desk.run(&format!("new porch --chip {other} {with}"));
            prop_assert_eq!(again.status, 0, "{}", again.shown());
        }
        holds(&desk, &asked, &all, chip);
    }
}

/// All at once, on a chip that has pins and room for it: the file as a person reads it.
#[test]
fn a_project_with_everything() {
    let all = words();
    let desk = Desk::new();
    let with = all.join(",");
    let new = desk.run(&format!("new porch --chip attiny84a --with {with}"));
    assert_eq!(new.status, 0, "{}", new.shown());
    insta::assert_snapshot!("new_with_everything", desk.read("porch.yaml"));
    holds(&desk, &all, &all, "attiny84a");
    for command in ["preview", "preview --day", "curve", "budget", "wiring"] {
        let answer = desk.run(&format!("{command} porch.yaml"));
        assert_eq!((answer.status, answer.err.as_str()), (0, ""), "{command}");
    }
}

/// Pins are few: strings give up theirs, and say so.
#[test]
fn what_is_asked_for_comes_before_strings() {
    let desk = Desk::new();
    let strings = |with: &str| {
        let new = desk.run(&format!(
            "new s{} --chip attiny85 --with {with}",
            with.len()
        ));
        assert_eq!(new.status, 0, "{}", new.shown());
        let path = desk.path(&format!("s{}.yaml", with.len()));
        let text = std::fs::read_to_string(&path).expect("written");
        let design = Design::read(&path).expect("it builds");
        (
            design.project.channels.len(),
            text.contains("There could be"),
        )
    };
    assert_eq!(strings("button"), (3, false));
    assert_eq!(strings("knob"), (3, false));
    assert_eq!(strings("knob,sensor"), (2, true));
    assert_eq!(strings("knob,sensor,contact"), (1, true));
}

#[test]
fn what_cannot_be_had_is_refused_with_what_can() {
    let desk = Desk::new();
    for (name, arguments) in [
        ("without_a_converter", "--chip attiny2313a --with knob"),
        ("without_counting", "--chip atmega8 --with evening"),
        (
            "without_pins",
            "--chip attiny85 --with contact,switch,knob,sensor",
        ),
        (
            "without_room",
            "--chip attiny13a --with sensor,knob,evening,standby",
        ),
        ("an_unknown_word", "--with knobs"),
    ] {
        let new = desk.run(&format!("new porch {arguments}"));
        insta::assert_snapshot!(format!("new_{name}"), new.shown());
    }
    assert!(desk.list(".").is_empty());
}

/// It compiles without a warning, with everything in it.
#[test_with::executable("avr-gcc")]
#[test]
fn a_project_with_everything_compiles() {
    let desk = Desk::new();
    let with = words().join(",");
    let new = desk.run(&format!("new porch --chip attiny84a --with {with}"));
    assert_eq!(new.status, 0, "{}", new.shown());
    assert_eq!(desk.run("build porch.yaml --quiet").status, 0);
    desk.compile("out/porch");
}
