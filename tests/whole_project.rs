//! Projects with other numbers, words and lines than a person meant: each is built, looked at and
//! reported on, or refused with a report; nothing panics.

use std::io;
use std::path::Path;
use std::sync::LazyLock;

use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::preview::{Glyphs, Style, View, timelines};
use duskloom::units::Time;
use duskloom::{curve, emit, spec};
use proptest::prelude::*;

/// Good projects: the reader's own, and those of the command line's tests.
const PROJECTS: &[&str] = &[
    include_str!("right/harbour.yaml"),
    include_str!("cli/projects/platform.yaml"),
    include_str!("preview/projects/lengths.yaml"),
];
const LIBRARY: &str = include_str!("right/coast.yaml");

/// What a number is replaced by.
const NUMBERS: &[&str] = &[
    "0", "1", "2", "3", "5", "7", "12", "31", "64", "99", "100", "128", "255", "256", "300", "999",
    "65535", "65536", "86400", "0.1", "0.001", "1.5", "33.333",
];

/// What a word is replaced by.
const WORDS: &[&str] = &[
    "us",
    "ms",
    "s",
    "min",
    "h",
    "%",
    "MHz",
    "kHz",
    "linear",
    "soft",
    "soft-in",
    "square",
    "sine",
    "saw",
    "triangle",
    "lightness",
    "logarithmic",
    "fast",
    "phase-correct",
    "attiny13a",
    "attiny85",
    "attiny2313",
    "attiny4313",
    "atmega8",
    "atmega88",
    "atmega328p",
    "atmega32u4",
    "true",
    "false",
    "off",
    "forever",
    "all",
    "rest",
    "hold",
    "to",
    "set",
    "PB0",
    "PB1",
    "PB2",
    "PD5",
    "PD6",
    "internal",
    "crystal",
    "external",
];

#[derive(Debug, Clone)]
enum Change {
    Number { which: usize, to: usize },
    Word { which: usize, to: usize },
    RemoveLine(usize),
    RepeatLine(usize),
}

fn change() -> impl Strategy<Value = Change> {
    let any = || 0..1000_usize;
    prop_oneof![
        6 => (any(), any()).prop_map(|(which, to)| Change::Number { which, to }),
        2 => (any(), any()).prop_map(|(which, to)| Change::Word { which, to }),
        1 => any().prop_map(Change::RemoveLine),
        1 => any().prop_map(Change::RepeatLine),
    ]
}

fn changed(text: String, change: &Change) -> String {
    match *change {
        Change::Number { which, to } => replaced(&text, which, NUMBERS[to % NUMBERS.len()], |c| {
            c.is_ascii_digit() || c == '.'
        }),
        Change::Word { which, to } => replaced(&text, which, WORDS[to % WORDS.len()], |c| {
            c.is_ascii_alphanumeric() || c == '%' || c == '-'
        }),
        Change::RemoveLine(which) => {
            let mut lines: Vec<&str> = text.lines().collect();
            lines.remove(which % lines.len());
            lines.join("\n")
        }
        Change::RepeatLine(which) => {
            let mut lines: Vec<&str> = text.lines().collect();
            let which = which % lines.len();
            lines.insert(which, lines[which]);
            lines.join("\n")
        }
    }
}

/// The text with one of its runs of such characters replaced.
fn replaced(text: &str, which: usize, by: &str, within: impl Fn(char) -> bool) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for (at, c) in text.char_indices().filter(|(_, c)| within(*c)) {
        match runs.last_mut() {
            Some((_, end)) if *end == at => *end += c.len_utf8(),
            _ => runs.push((at, at + c.len_utf8())),
        }
    }
    match runs.get(which % runs.len().max(1)) {
        Some(&(from, to)) => format!("{}{by}{}", &text[..from], &text[to..]),
        None => text.to_string(),
    }
}

/// How far a project got.
#[derive(Debug, PartialEq, Eq)]
enum Outcome {
    Unreadable(String),
    Refused(String),
    Built,
}

/// Everything that is ever done with a project.
fn all_of_it(text: &str) -> Outcome {
    let open = |path: &Path| match path.to_str() {
        Some("trial.yaml") => Ok(text.as_bytes().to_vec()),
        Some("coast.yaml") => Ok(LIBRARY.as_bytes().to_vec()),
        _ => Err(io::ErrorKind::NotFound.into()),
    };
    let project = match spec::read_with(Path::new("trial.yaml"), &open) {
        Ok(project) => project,
        Err(report) => {
            assert!(report.has_errors());
            return Outcome::Unreadable(diagnostic::render(&report, false));
        }
    };
    let mut report = Report::new(project.sources.clone());
    let design = match Design::new(project) {
        Ok(design) => design,
        Err(errors) => {
            assert!(!errors.is_empty());
            errors.into_iter().for_each(|error| report.push(error));
            assert!(report.has_errors());
            let said = diagnostic::render(&report.sorted(), false);
            return Outcome::Refused(said);
        }
    };
    for caution in &design.plan.cautions {
        report.push(caution.clone());
    }
    assert!(!report.has_errors());
    diagnostic::render(&report.sorted(), false);

    let files = emit::firmware(&design)
        .into_iter()
        .chain(emit::player(&design));
    files.for_each(|file| assert!(!file.text.is_empty(), "{}", file.path));
    let view = View {
        span: Some(Time::from_millis(3000)),
        ..View::default()
    };
    for glyphs in [Glyphs::Blocks, Glyphs::Ascii] {
        timelines(&design, &view, &Style { width: 60, glyphs });
    }
    curve::report(
        &design,
        &curve::Style {
            every: 3,
            ascii: false,
        },
    );
    Outcome::Built
}

/// What `new` writes.
fn new_project() -> String {
    let folder = tempfile::tempdir().expect("a folder");
    let new = std::process::Command::new(env!("CARGO_BIN_EXE_duskloom"))
        .current_dir(&folder)
        .args(["new", "porch"])
        .output()
        .expect("duskloom runs");
    assert!(new.status.success());
    std::fs::read_to_string(folder.path().join("porch.yaml")).expect("a project")
}

static WHOLE: LazyLock<Vec<String>> = LazyLock::new(|| {
    // The reader's project has more channels than the chip it names.
    let named =
        |text: &&str| text.replace("-diorama\nchip: attiny2313a", "-diorama\nchip: atmega328p");
    PROJECTS.iter().map(named).chain([new_project()]).collect()
});

#[test]
fn unchanged_they_are_built() {
    for project in WHOLE.iter() {
        assert_eq!(all_of_it(project), Outcome::Built, "{project}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, ..ProptestConfig::default() })]

    #[test]
    fn changed_they_are_built_or_refused(
        which in 0..=PROJECTS.len(),
        changes in prop::collection::vec(change(), 1..5),
    ) {
        let text = changes.iter().fold(WHOLE[which].clone(), changed);
        all_of_it(&text);
    }
}
