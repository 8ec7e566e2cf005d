//! Reads a light project. Nothing after this stage sees YAML.
//!
//! `files` opens the project and its libraries; `yaml` makes trees of them, within limits; `read`
//! turns trees into the types of `raw`, which are the grammar; `resolve` gives names their meaning
//! and fills in defaults. All errors of a project are found in one run.

mod electrics;
mod files;
pub mod project;
mod raw;
mod read;
mod resolve;
mod yaml;

use std::io;
use std::path::Path;

use crate::diagnostic::Report;

pub use project::*;

/// Reads and validates the project file at `path`, and the libraries it uses.
///
/// # Errors
/// A report of all that is wrong with it, by place.
pub fn read(path: &Path) -> Result<Project, Report> {
    read_with(path, &files::open)
}

/// As [`read`](read()), with the files from elsewhere: `open` returns the bytes at a path, which is `path`
/// itself or a library's, relative to it.
///
/// # Errors
/// A report of all that is wrong with it, by place.
pub fn read_with(
    path: &Path,
    open: &dyn Fn(&Path) -> io::Result<Vec<u8>>,
) -> Result<Project, Report> {
    let mut report = Report::default();
    let loaded = files::load(path, open, &mut report);
    let project = loaded.and_then(|loaded| resolve::project(path, &loaded, &mut report));
    match project {
        Some(project) if !report.has_errors() => Ok(project),
        Some(_) | None => Err(report.sorted()),
    }
}

/// The JSON Schema of a project file, from the types that parse it.
pub fn schema() -> schemars::Schema {
    schemars::schema_for!(raw::Project)
}
