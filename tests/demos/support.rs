//! Where the demos are, and how they are read.

use std::path::{Path, PathBuf};

use duskloom::design::Design;

use crate::common::designs;

/// The top folder of the repository.
pub(super) fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// The project files, by name, relative to the top folder.
pub(super) fn demos() -> Vec<PathBuf> {
    yaml_files("patterns")
}

/// The libraries that they share.
pub(super) fn libraries() -> Vec<PathBuf> {
    yaml_files("patterns/library")
}

fn yaml_files(folder: &str) -> Vec<PathBuf> {
    let entries = root().join(folder).read_dir().expect("the folder is there");
    let mut files: Vec<PathBuf> = entries
        .map(|entry| Path::new(folder).join(entry.expect("an entry").file_name()))
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "yaml")
        })
        .collect();
    files.sort();
    files
}

/// A demo taken through all stages.
pub(super) fn design(demo: &Path) -> Design {
    designs::from_file(root().join(demo))
}

/// A project that is not on disk, but whose libraries are; their paths start at the top folder.
pub(super) fn design_of(text: &str) -> Design {
    designs::from_text(root().join("test.yaml"), text)
}
