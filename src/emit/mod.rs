//! From a design to source text: contexts for the templates, and the templates.
//!
//! Decisions are taken before; a context only puts into words and numbers what was decided. A
//! language is a folder of templates and a file here.

mod c;
mod context;
mod recording;
pub mod rust;

use crate::design::Design;

pub use c::{firmware, player, player_in_c};

/// What firmware can be written in.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Language {
    #[default]
    C,
    Rust,
}

impl Language {
    /// The complete firmware.
    pub fn firmware(self, design: &Design) -> Vec<SourceFile> {
        match self {
            Self::C => c::firmware(design),
            Self::Rust => rust::firmware(design),
        }
    }

    /// Tables and player, for a main program of the person's own.
    pub fn player(self, design: &Design) -> Vec<SourceFile> {
        match self {
            Self::C => c::player(design),
            Self::Rust => rust::player(design),
        }
    }
}

/// A file to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceFile {
    /// Relative to the project's output folder.
    pub path: String,
    pub text: String,
}

/// Assembly with one blank line between its blocks, whatever was left out between them.
fn spaced(text: &str) -> String {
    let mut spaced = String::with_capacity(text.len());
    let mut blank = false;
    for line in text.lines() {
        if !(blank && line.is_empty()) {
            spaced.push_str(line);
            spaced.push('\n');
        }
        blank = line.is_empty();
    }
    spaced
}

/// The project file's own name, without folders. It can be any text.
fn source_name(design: &Design) -> String {
    let sources = &design.project.sources;
    sources
        .iter()
        .next()
        .and_then(|source| source.path.file_name())
        .map_or_else(
            || format!("{}.yaml", design.project.name.value),
            |name| name.to_string_lossy().into_owned(),
        )
}
