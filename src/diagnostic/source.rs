//! The files that were read, kept so that any stage can quote them.

use std::path::PathBuf;
use std::sync::Arc;

use super::Span;

/// Which of the files read for a project (0 is the project file, the others its pattern libraries).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct FileId(pub u16);

/// The text of a file that was read.
#[derive(Debug)]
pub struct Source {
    /// As the person gave it, or relative to the file that named it.
    pub path: PathBuf,
    pub text: String,
}

/// All files read for a project, by [`FileId`]. Cheap to clone.
#[derive(Debug, Clone, Default)]
pub struct Sources(Vec<Arc<Source>>);

/// A place as an editor counts it: line and column from 1, the column in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Position {
    pub line: usize,
    pub column: usize,
}

impl Sources {
    /// Keeps a file and numbers it.
    pub fn add(&mut self, path: PathBuf, text: String) -> FileId {
        let id = FileId(u16::try_from(self.0.len()).expect("the reader limits the files"));
        self.0.push(Arc::new(Source { path, text }));
        id
    }

    pub fn get(&self, file: FileId) -> &Arc<Source> {
        &self.0[file.0 as usize]
    }

    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.0.iter().map(Arc::as_ref)
    }

    /// The text at a place.
    pub fn quote(&self, span: Span) -> &str {
        &self.get(span.file).text[span.range()]
    }

    /// The text from a place on.
    pub fn after(&self, span: Span) -> &str {
        &self.get(span.file).text[span.range().end..]
    }

    /// Where a span starts.
    pub fn position(&self, span: Span) -> Position {
        let before = &self.get(span.file).text[..span.start as usize];
        let line_start = before.rfind('\n').map_or(0, |newline| newline + 1);
        Position {
            line: before.bytes().filter(|&byte| byte == b'\n').count() + 1,
            column: before[line_start..].chars().count() + 1,
        }
    }
}
