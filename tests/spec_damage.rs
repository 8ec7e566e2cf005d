//! A good project, damaged at random: it is read or refused, but nothing panics, and what is said
//! of it can be laid out.

use std::io;
use std::path::Path;

use duskloom::{diagnostic, spec};
use proptest::prelude::*;

const PROJECT: &str = include_str!("right/harbour.yaml");
const LIBRARY: &str = include_str!("right/coast.yaml");

/// Bits that are likely to hurt, put in place of others.
const SPLINTERS: &[&str] = &[
    "",
    "\t",
    "\n",
    "\r\n",
    "  ",
    ":",
    "- ",
    "{",
    "}",
    "[",
    "]",
    ",",
    "&a ",
    "*a",
    "*blink",
    "!t ",
    "|",
    ">",
    "'",
    "\"",
    "#",
    "---\n",
    "%",
    " %",
    " ms",
    " s",
    "..",
    "0",
    "-1",
    "1e9",
    "99999999999",
    "0 s",
    "100",
    "null",
    "~",
    "forever",
    "rest",
    "all",
    "off",
    "repeat",
    "play: duet",
    "µ☾",
    "\u{0}",
    "\u{feff}",
    "\u{fffd}",
    "{repeat: 2, steps: [{hold: 0 s}]}",
    "evening",
    "tower: 5 %",
    "? ",
    "<<: *a",
];

#[derive(Debug, Clone)]
enum Damage {
    Cut {
        at: usize,
        length: usize,
    },
    Insert {
        at: usize,
        splinter: usize,
    },
    Copy {
        from: usize,
        length: usize,
        to: usize,
    },
    SwapLines {
        one: usize,
        other: usize,
    },
}

fn damage() -> impl Strategy<Value = Damage> {
    let place = || 0..PROJECT.len();
    prop_oneof![
        (place(), 0..40_usize).prop_map(|(at, length)| Damage::Cut { at, length }),
        (place(), 0..SPLINTERS.len()).prop_map(|(at, splinter)| Damage::Insert { at, splinter }),
        (place(), 0..80_usize, place()).prop_map(|(from, length, to)| Damage::Copy {
            from,
            length,
            to
        }),
        (0..60_usize, 0..60_usize).prop_map(|(one, other)| Damage::SwapLines { one, other }),
    ]
}

/// The nearest place at or before `at` where a character begins.
fn boundary(text: &str, at: usize) -> usize {
    (0..=at.min(text.len()))
        .rev()
        .find(|&at| text.is_char_boundary(at))
        .unwrap_or(0)
}

fn damaged(mut text: String, damage: &Damage) -> String {
    match *damage {
        Damage::Cut { at, length } => {
            let range = boundary(&text, at)..boundary(&text, at + length);
            text.replace_range(range, "");
        }
        Damage::Insert { at, splinter } => {
            text.insert_str(boundary(&text, at), SPLINTERS[splinter]);
        }
        Damage::Copy { from, length, to } => {
            let piece = text[boundary(&text, from)..boundary(&text, from + length)].to_string();
            text.insert_str(boundary(&text, to), &piece);
        }
        Damage::SwapLines { one, other } => {
            let mut lines: Vec<_> = text.lines().collect();
            let count = lines.len().max(1);
            if !lines.is_empty() {
                lines.swap(one % count, other % count);
            }
            text = lines.join("\n");
        }
    }
    text
}

/// Reads a project and library of these texts, and lays out what is said of them.
fn read(project: &[u8], library: &[u8]) -> Result<(), String> {
    let open = |path: &Path| match path.to_str() {
        Some("harbour.yaml") => Ok(project.to_vec()),
        Some("coast.yaml") => Ok(library.to_vec()),
        _ => Err(io::ErrorKind::NotFound.into()),
    };
    match spec::read_with(Path::new("harbour.yaml"), &open) {
        Ok(_) => Ok(()),
        Err(report) => {
            assert!(report.has_errors());
            Err(diagnostic::render(&report, true))
        }
    }
}

#[test]
fn undamaged_it_is_read() {
    if let Err(report) = read(PROJECT.as_bytes(), LIBRARY.as_bytes()) {
        panic!("{report}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn damaged_texts_are_read_or_refused(
        harm in prop::collection::vec(damage(), 1..6),
        to_library in prop::collection::vec(damage(), 0..3),
    ) {
        let project = harm.iter().fold(PROJECT.to_string(), damaged);
        let library = to_library.iter().fold(LIBRARY.to_string(), damaged);
        let _ = read(project.as_bytes(), library.as_bytes());
    }

    #[test]
    fn damaged_bytes_are_read_or_refused(
        harm in prop::collection::vec((0..PROJECT.len(), any::<u8>()), 1..20),
    ) {
        let mut project = PROJECT.as_bytes().to_vec();
        for (at, byte) in harm {
            project[at] = byte;
        }
        let _ = read(&project, LIBRARY.as_bytes());
    }

    #[test]
    fn any_text_at_all_is_read_or_refused(text in "[-:{}\\[\\],&*!|>'\"%#?@` \\n\\ta-z0-9é☾\u{feff}\u{85}]{0,120}") {
        let _ = read(text.as_bytes(), text.as_bytes());
    }
}
