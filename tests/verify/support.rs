//! Projects from files and from text.

use std::path::{Path, PathBuf};

use duskloom::design::Design;

use crate::common::designs;
pub(super) use crate::common::designs::from_file as design_of;

pub(super) fn folder(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(name)
}

/// A project of the tests with some of its text replaced.
pub(super) fn altered(project: &str, changes: &[(&str, &str)]) -> Design {
    let path = folder("tests/verify/projects").join(project);
    let mut text = std::fs::read_to_string(&path).unwrap();
    for (from, to) in changes {
        assert!(text.contains(from), "{project} says `{from}`");
        text = text.replace(from, to);
    }
    designs::from_text(path, &text)
}
