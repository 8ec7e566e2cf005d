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

/// As `build`, in both languages.
///
/// # Panics
/// As [`read`], and if a file is empty.
pub fn build(text: &[u8]) -> Option<Built> {
    let design = read(text)?;
    let sources = design.project.sources.clone();
    let c = Language::C.firmware(&design);
    let verdict = budget::budget_of(&design, &c);
    for objections in [
        budget::objections(&design, &verdict),
        budget::objections_to_rust(&design),
    ] {
        diagnostic::render(&Report::of(sources.clone(), objections), false);
    }
    let mut files = c;
    files.extend(Language::Rust.firmware(&design));
    for language in [Language::C, Language::Rust] {
        files.extend(language.player(&design));
    }
    for file in &files {
        assert!(!file.text.is_empty(), "{} is empty", file.path);
    }
    Some(Built {
        design,
        verdict,
        files,
    })
}

/// What the other commands show of it.
///
/// # Panics
/// If it differs from itself.
pub fn look(built: &Built) {
    let Built {
        design, verdict, ..
    } = built;
    for ascii in [false, true] {
        let style = budget::Style { ascii };
        budget::report(verdict, style);
        budget::summary(verdict, style);
        curve::report(design, &curve::Style { every: 3, ascii });
        let glyphs = if ascii { Glyphs::Ascii } else { Glyphs::Blocks };
        timelines(design, &View::default(), &Style { width: 70, glyphs });
    }
    verdict.board.text();
    let card = board::wiring(design, &verdict.board);
    card.text();
    card.svg();
    picture::curve(design);
    picture::timelines(design, &View::default());
    page::page(design, verdict, &budget::objections(design, verdict));
    let difference = diff::diff(("old", design), ("new", design));
    diff::text(&difference);
    diff::markdown(&difference);
    assert!(difference.is_none(), "a project differs from itself");
}

/// A report must have something to say, and be said.
fn refused(report: &Report) {
    assert!(report.has_errors(), "refused without a word");
    for colour in [false, true] {
        assert!(!diagnostic::render(report, colour).is_empty());
    }
}
