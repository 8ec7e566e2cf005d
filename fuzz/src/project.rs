//! From the text of a project to everything that is ever made of it.

use std::io;
use std::path::Path;

use duskloom::budget::{self, Verdict};
use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::emit::{Language, SourceFile};
use duskloom::preview::{Glyphs, Style, View, timelines};
use duskloom::{board, curve, diff, page, picture, spec};

/// What `build` makes of a project.
pub struct Built {
    pub design: Design,
    pub verdict: Verdict,
    pub files: Vec<SourceFile>,
}

/// What stands for a library, whatever its name.
const LIBRARY: &str = "patterns:\n  beam: [{rhythm: [500 ms, 1500 ms]}]\n";

/// What a text means, planned, lowered and packed; `None`: refused, with a report that can be read.
///
/// # Panics
/// If something is refused without a word.
pub fn read(text: &[u8]) -> Option<Design> {
    let open = |path: &Path| match path.to_str() {
        Some("trial.yaml") => Ok(text.to_vec()),
        Some("library.yaml") => Ok(LIBRARY.into()),
        _ => Err(io::ErrorKind::NotFound.into()),
    };
    let project = spec::read_with(Path::new("trial.yaml"), &open)
        .map_err(|report| refused(&report))
        .ok()?;
    let sources = project.sources.clone();
    let design = Design::new(project)
        .map_err(|errors| refused(&Report::of(sources.clone(), errors)))
        .ok()?;
    diagnostic::render(&design.cautions(), false);
    Some(design)
}

/// As `build`, in this language: the budget, the firmware, or tables and player alone.
///
/// # Panics
/// As [`read`], and if a file is empty.
pub fn build(text: &[u8], language: Language, whole: bool) -> Option<Built> {
    let design = read(text)?;
    let sources = design.project.sources.clone();
    let c = Language::C.firmware(&design);
    let verdict = budget::budget_of(&design, &c);
    let objections = match language {
        Language::C => verdict.objections(),
        Language::Rust => budget::objections_to_rust(&design),
    };
    diagnostic::render(&Report::of(sources, objections), false);
    let files = match (language, whole) {
        (Language::C, true) => c,
        (Language::Rust, true) => Language::Rust.firmware(&design),
        (language, false) => language.player(&design),
    };
    for file in &files {
        assert!(!file.text.is_empty(), "{} is empty", file.path);
    }
    Some(Built {
        design,
        verdict,
        files,
    })
}

/// What the other commands show of it, one after the other.
pub const LOOKS: [fn(&Built); 11] = [
    |built| {
        for ascii in [false, true] {
            let style = budget::Style { ascii };
            budget::report(&built.verdict, style);
            budget::summary(&built.verdict, style);
        }
    },
    |built| {
        drop(curve::report(
            &built.design,
            &curve::Style {
                every: 3,
                ascii: false,
            },
        ))
    },
    |built| {
        drop(curve::report(
            &built.design,
            &curve::Style {
                every: 1,
                ascii: true,
            },
        ))
    },
    |built| text(&built.design, Glyphs::Ascii),
    |built| text(&built.design, Glyphs::Blocks),
    |built| drop(built.verdict.board.text()),
    |built| {
        let card = board::wiring(&built.design, &built.verdict.board);
        card.text();
        card.svg();
    },
    |built| drop(picture::curve(&built.design, &built.verdict.board.lamps)),
    |built| drop(picture::timelines(&built.design, &View::default())),
    |built| {
        let objections = built.verdict.objections();
        page::page(&built.design, &built.verdict, &objections);
    },
    |built| {
        let difference = diff::diff(("old", &built.design), ("new", &built.design));
        diff::text(&difference, true);
        diff::markdown(&difference, true);
        assert!(difference.is_none(), "a project differs from itself");
    },
];

fn text(design: &Design, glyphs: Glyphs) {
    timelines(design, &View::default(), &Style { width: 70, glyphs });
}

/// What is made of a text besides its budget. All of it each time would take twenty times as long.
pub struct Choice {
    pub language: Language,
    pub whole: bool,
    /// Which of [`LOOKS`]; `None`: nobody looks at it.
    pub look: Option<usize>,
}

/// Of the texts that are sound, one in so many is written in Rust…
const RUST: u32 = 6;
/// …one in so many without a main program…
const ALONE: u32 = 7;
/// …and one in so many is looked at.
const SEEN: usize = 6;

impl Choice {
    /// As the text itself has it, so that what was found comes up again: by 32-bit FNV-1a.
    pub fn of(text: &[u8]) -> Self {
        let add = |sum: u32, byte: &u8| (sum ^ u32::from(*byte)).wrapping_mul(0x0100_0193);
        let sum = text.iter().fold(0x811C_9DC5, add);
        let sum = sum ^ sum >> 15;
        Self {
            language: if sum.is_multiple_of(RUST) {
                Language::Rust
            } else {
                Language::C
            },
            whole: !(sum / RUST).is_multiple_of(ALONE),
            look: Some((sum / RUST / ALONE) as usize % (SEEN * LOOKS.len()))
                .filter(|look| *look < LOOKS.len()),
        }
    }
}

/// A report must have something to say, and be said.
fn refused(report: &Report) {
    assert!(report.has_errors(), "refused without a word");
    for colour in [false, true] {
        assert!(!diagnostic::render(report, colour).is_empty());
    }
}
