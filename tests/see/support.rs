//! Projects to look at.

use std::fs;
use std::path::{Path, PathBuf};

use duskloom::design::Design;

use crate::common::designs;

/// A project from its text. Libraries are those of the demos.
pub(super) fn design(text: &str) -> Design {
    designs::from_text("patterns/trial.yaml", text)
}

/// A model railway halt: two lamps, a signal, draws and steady levels.
pub(super) const HALT: &str = include_str!("../cli/projects/platform.yaml");

/// The halt with some text in it replaced, which must be there.
pub(super) fn halt_with(replaced: &[(&str, &str)]) -> Design {
    let mut text = HALT.to_string();
    for (from, to) in replaced {
        assert!(text.contains(from), "{from}");
        text = text.replace(from, to);
    }
    design(&text)
}

pub(super) fn demo(name: &str) -> Design {
    designs::from_file(Path::new("patterns").join(name))
}

/// The projects of a folder, sorted.
pub(super) fn projects(folder: &str) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap_or_else(|error| panic!("{folder}: {error}"))
        .map(|entry| entry.expect("an entry").path())
        .filter(|path| path.extension().is_some_and(|end| end == "yaml"))
        .collect();
    found.sort();
    assert!(!found.is_empty(), "{folder}");
    found
}
