//! Names that people choose, where something else has a name too; and names of files, where something
//! else would read them.

use std::collections::BTreeSet;
use std::path::Path;

use duskloom::emit::{self, SourceFile, rust};
use duskloom::spec::Project;
use duskloom::{design::Design, diagnostic, spec};
use proptest::prelude::*;

use crate::common::{avr_gcc, designs};

fn collisions() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/names/collisions.yaml")
}

#[test_with::executable("avr-gcc")]
#[test]
fn patterns_and_channels_can_be_called_like_anything() {
    avr_gcc::build(&emit::firmware(&designs::from_file(collisions())));
}

/// All labels of a file, the numbered ones apart.
fn labels(files: &[SourceFile]) -> Vec<&str> {
    let tables = files.iter().find(|file| file.path == "tables.S");
    let lines = tables.expect("the tables").text.lines();
    lines
        .filter(|line| !line.starts_with([' ', ';', '#']))
        .filter_map(|line| line.split_once(':').map(|(label, _)| label))
        .collect()
}

fn named(pattern: &str, other: &str, channel: &str, second: &str) -> Option<Project> {
    let text = format!(
        "chip: attiny2313a\nchannels: [{channel}, {second}]\npatterns:\n  {pattern}:\n    tracks:\n      \
         - {{channels: {channel}, steps: [{{to: 9 %, over: 1 s}}, {{repeat: 2, steps: [{{to: 60 %, over: 1 s}}, {{to: 10 %, over: 1 s}}]}}]}}\n      \
         - {{channels: {second}, steps: [{{to: 8 %, over: 1 s}}, {{repeat: 3, steps: [{{to: 60 %, over: 1 s}}, {{to: 10 %, over: 1 s}}]}}]}}\n  \
         {other}: [{{rhythm: [600 ms, 900 ms]}}]\n"
    );
    spec::read_with(Path::new("named.yaml"), &|_| Ok(text.clone().into_bytes())).ok()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn labels_of_a_firmware_differ(
        pattern in "[ab](-?[ab1]){0,2}",
        other in "[ab](-{0,2}[ab1]){0,4}|scenes|trims|shows|scene-1",
        channel in "[ab](-?[ab1]){0,2}",
        second in "[ab](-?[ab1]){0,2}|on-a|scenes",
    ) {
        // Two of the same name are refused.
        if let Some(project) = named(&pattern, &other, &channel, &second) {
            let design = Design::new(project).expect("it fits");
            let files = emit::firmware(&design);
            let all = labels(&files);
            let each: BTreeSet<&str> = all.iter().copied().collect();
            prop_assert_eq!(all.len(), each.len(), "{:?}", all);
        }
    }
}

/// Ends a line and joins it with the next, begins a rule of Make, turns text round.
const HOSTILE: &str = "a\n\t$(shell touch ran)*#\u{9b}31m\u{202e}`??\\\nevil: ; touch ran.yaml";

fn of_hostile_name() -> Design {
    let text = include_str!("../cli/projects/platform.yaml");
    let project = spec::read_with(Path::new(HOSTILE), &|_| Ok(text.as_bytes().to_vec()));
    let project = project.unwrap_or_else(|report| {
        panic!("{}", diagnostic::render(&report, false));
    });
    Design::new(project).expect("it fits")
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_hostile_name_of_a_file_compiles() {
    avr_gcc::build(&emit::firmware(&of_hostile_name()));
}

#[test]
fn the_name_of_a_file_stays_within_its_comment() {
    let design = of_hostile_name();
    let c = emit::firmware(&design);
    for file in c.iter().chain(&rust::firmware(&design)) {
        for line in file.text.lines().filter(|line| line.contains("touch ran")) {
            let begins = ["# ", "/* ", " * ", "; ", "// ", "//! "];
            let in_comment = begins.iter().any(|begin| line.starts_with(begin));
            assert!(
                in_comment || file.path == "README.md",
                "{}: {line}",
                file.path
            );
        }
        assert!(!file.text.contains(['\u{9b}', '\u{202e}']), "{}", file.path);
        assert!(!file.text.contains("shell touch ran)*"), "{}", file.path);
    }
}

#[test]
fn messages_do_not_steer_the_terminal() {
    let text = "chip: attiny13a\nchannels: 1\npatterns: {\"b\u{9b}31m\u{202e}\": [{hold: 1 s}]}\n";
    let read = spec::read_with(Path::new(HOSTILE), &|_| Ok(text.as_bytes().to_vec()));
    let said = diagnostic::render(&read.expect_err("no name for a pattern"), false);
    let odd = said
        .chars()
        .find(|&c| c != '\n' && !duskloom::escape::is_shown(c));
    assert_eq!(odd, None, "{said}");
    assert!(said.contains("error["), "{said}");
}
