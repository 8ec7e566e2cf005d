//! What the tool has to say about a project: errors and cautions as data, each with a code, a place,
//! a sentence and a hint. Rendering lives in [`render`](Diagnostic), wording with whoever finds the fault.

use std::ops::Range;
use std::path::PathBuf;

/// Which of the files read for a project (0 is the project file, the others its pattern libraries).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct FileId(pub u16);

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
}

/// The text of a file that was read, kept so that later stages can quote it.
#[derive(Debug, Clone)]
pub struct Source {
    pub path: PathBuf,
    pub text: String,
}

/// All files read for a project, by [`FileId`].
#[derive(Debug, Clone, Default)]
pub struct Sources(pub Vec<Source>);

/// How serious a diagnostic is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
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
