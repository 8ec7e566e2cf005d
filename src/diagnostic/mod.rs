//! What the tool has to say about a project: errors and cautions as data, each with a code, a place,
//! a sentence and a hint. Wording lives with whoever finds the fault; [`render`](render()) lays it
//! out for a person, and [`codes`] tells more about each code.

pub mod codes;
mod data;
mod notes;
mod render;
mod report;
mod source;

use std::borrow::Cow;
use std::ops::Range;

use serde::Serialize;

pub use data::{Data, Finding};
pub use notes::Notes;
pub use render::render;
pub use report::{LISTED, Report};
pub use source::{FileId, Position, Source, Sources};

/// A place in a source file: byte offsets into its text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    pub file: FileId,
    pub start: u32,
    pub end: u32,
}

impl Span {
    /// The byte range within the file's text.
    pub fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A value and the place where the person wrote it (or the place that made the default apply).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spanned<T> {
    pub value: T,
    pub span: Span,
}

impl<T> Spanned<T> {
    pub fn new(value: T, span: Span) -> Self {
        Self { value, span }
    }

    /// The same place with another value.
    pub fn map<U>(self, change: impl FnOnce(T) -> U) -> Spanned<U> {
        Spanned::new(change(self.value), self.span)
    }
}

/// How serious a diagnostic is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The project cannot be built.
    Error,
    /// It can be built, but the person should know.
    Caution,
}

/// One thing said about one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    pub severity: Severity,
    /// Stable, such as `S012`; `duskloom explain S012` tells more.
    pub code: &'static str,
    /// `None` only when no place in a file is at fault (a file that cannot be read).
    pub span: Option<Span>,
    /// What is wrong, as a sentence without a full stop.
    pub message: String,
    /// Written at the marked place: what was expected.
    pub label: String,
    /// What to do about it.
    pub hint: Option<String>,
}

impl Diagnostic {
    /// An error at a place; say what was expected there with [`label`](Self::label).
    pub fn error(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Error,
            code,
            span: Some(span),
            message: message.into(),
            label: String::new(),
            hint: None,
        }
    }

    /// A caution at a place.
    pub fn caution(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self {
            severity: Severity::Caution,
            ..Self::error(code, span, message)
        }
    }

    /// An error that no place in a file can be blamed for.
    pub fn placeless(code: &'static str, message: impl Into<String>) -> Self {
        Self {
            span: None,
            ..Self::error(code, Span::default(), message)
        }
    }

    /// What was expected at the marked place.
    pub fn label(self, label: impl Into<String>) -> Self {
        Self {
            label: label.into(),
            ..self
        }
    }

    /// What to do about it.
    pub fn hint(self, hint: impl Into<String>) -> Self {
        Self {
            hint: Some(hint.into()),
            ..self
        }
    }

    /// A hint, when there is one.
    pub fn maybe_hint(self, hint: Option<String>) -> Self {
        Self { hint, ..self }
    }
}

/// Text of the person's, cut to what a sentence can hold.
pub fn short(text: &str) -> Cow<'_, str> {
    match text.char_indices().nth(40) {
        Some((end, _)) => Cow::Owned(format!("{}…", &text[..end])),
        None => Cow::Borrowed(text),
    }
}
