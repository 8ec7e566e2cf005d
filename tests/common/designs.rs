//! Designs from files and from text. What is wrong with them is shown as a person would see it.

// Not every crate of tests needs both.
#![allow(dead_code)]

use std::path::Path;

use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::spec;

pub(crate) fn from_file(path: impl AsRef<Path>) -> Design {
    Design::read(path.as_ref()).unwrap_or_else(|report| complain(&report))
}

/// A project that is not on disk. `path` is what it would be called; its libraries are looked for
/// from there.
pub(crate) fn from_text(path: impl AsRef<Path>, text: &str) -> Design {
    let path = path.as_ref();
    let open = |asked: &Path| {
        if asked == path {
            Ok(text.as_bytes().to_vec())
        } else {
            std::fs::read(asked)
        }
    };
    let project = spec::read_with(path, &open).unwrap_or_else(|report| complain(&report));
    Design::reported(project, Design::new).unwrap_or_else(|report| complain(&report))
}

fn complain(report: &Report) -> ! {
    panic!("{}", diagnostic::render(report, false))
}
