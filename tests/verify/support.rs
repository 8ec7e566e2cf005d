//! Projects from files and from text.

use std::path::{Path, PathBuf};

use duskloom::design::Design;
use duskloom::diagnostic::render;
use duskloom::spec;

pub fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

pub fn design_of(path: &Path) -> Design {
    let project = spec::read(path).unwrap_or_else(|report| panic!("{}", render(&report, false)));
    Design::new(project).unwrap_or_else(|errors| panic!("{}: {errors:#?}", path.display()))
}

/// A project of the tests with some of its text replaced.
pub fn altered(project: &str, changes: &[(&str, &str)]) -> Design {
    let path = folder("tests/verify/projects").join(project);
    let mut text = std::fs::read_to_string(path).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{project} says `{from}`");
        text = text.replace(from, to);
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(project);
    std::fs::write(&path, text).unwrap();
    design_of(&path)
}
