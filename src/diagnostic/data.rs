//! A report for a script.

use serde::Serialize;

use super::{Diagnostic, Report, Severity, Sources};

/// What [`render`](super::render()) says, as data.
#[derive(Debug, Serialize)]
pub struct Data<'r> {
    pub diagnostics: Vec<Finding<'r>>,
    /// How many more there are.
    pub unlisted: usize,
}

/// A diagnostic with its place. What it does not have is null.
#[derive(Debug, Serialize)]
pub struct Finding<'r> {
    pub code: Option<&'r str>,
    pub severity: Severity,
    pub message: &'r str,
    pub label: Option<&'r str>,
    pub hint: Option<&'r str>,
    pub file: Option<String>,
    /// From 1; the column in characters.
    pub line: Option<usize>,
    pub column: Option<usize>,
    pub span: Option<Bytes>,
}

/// A part of a file: the offset of its first byte, and of the one after its last.
#[derive(Debug, Serialize)]
pub struct Bytes {
    pub start: u32,
    pub end: u32,
}

impl<'r> Data<'r> {
    pub fn of(report: &'r Report) -> Self {
        let found = report.diagnostics.iter();
        Self {
            diagnostics: found.map(|one| Finding::of(one, &report.sources)).collect(),
            unlisted: report.unlisted,
        }
    }

    /// What is wrong where no project is at fault.
    pub fn bare(message: &'r str, hint: Option<&'r str>) -> Self {
        Self {
            diagnostics: vec![Finding {
                code: None,
                severity: Severity::Error,
                message,
                label: None,
                hint,
                file: None,
                line: None,
                column: None,
                span: None,
            }],
            unlisted: 0,
        }
    }
}

impl<'r> Finding<'r> {
    fn of(diagnostic: &'r Diagnostic, sources: &Sources) -> Self {
        let place = diagnostic.span.map(|span| sources.position(span));
        let file = |span: super::Span| sources.get(span.file).path.display().to_string();
        Self {
            code: Some(diagnostic.code),
            severity: diagnostic.severity,
            message: &diagnostic.message,
            label: Some(diagnostic.label.as_str()).filter(|label| !label.is_empty()),
            hint: diagnostic.hint.as_deref(),
            file: diagnostic.span.map(file),
            line: place.map(|place| place.line),
            column: place.map(|place| place.column),
            span: diagnostic.span.map(|span| Bytes {
                start: span.start,
                end: span.end,
            }),
        }
    }
}
