//! Whether a beginning is one: it is built before it is written.

use std::path::Path;

use duskloom::budget;
use duskloom::design::Design;
use duskloom::diagnostic::{Diagnostic, Severity};
use duskloom::emit::Language;
use duskloom::row::Judgement;
use duskloom::spec;

/// The first thing that is wrong with a project's text. `None`: it can be built.
pub(super) fn fault(text: &str) -> Option<String> {
    let open = |_: &Path| Ok(text.as_bytes().to_vec());
    let project = match spec::read_with(Path::new("new.yaml"), &open) {
        Ok(project) => project,
        Err(report) => return first(&report.diagnostics),
    };
    let design = match Design::new(project) {
        Ok(design) => design,
        Err(found) => return first(&found),
    };
    let sources = Language::C.firmware(&design);
    let verdict = budget::budget_of(&design, &sources);
    let message = first(&verdict.objections())?;
    let over = (verdict.rows.iter()).find(|row| row.verdict == Judgement::Over);
    Some(over.map_or(message, |row| {
        format!("{}, {}, {}", row.what, row.figure, row.against())
    }))
}

fn first(found: &[Diagnostic]) -> Option<String> {
    let error = found.iter().find(|one| one.severity == Severity::Error);
    error.map(|error| error.message.clone())
}
