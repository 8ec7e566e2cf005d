//! Reads a light project. Nothing after this stage sees YAML.
//!
//! `files` opens the project and its libraries; `yaml` makes trees of them, within limits; `read`
//! turns trees into the types of `raw`, which are the grammar; `resolve` gives names their meaning
//! and fills in defaults. All errors of a project are found in one run.

mod channel;
mod electrics;
mod files;
mod inputs;
pub mod project;
mod raw;
mod read;
mod reference;
mod resolve;
mod schema;
mod transistor;
mod yaml;

use std::io;
use std::path::Path;

use crate::diagnostic::{Report, Span};
use crate::units::Time;

pub use files::plain;
pub use project::*;
pub use reference::{Key, Section, nearest_key, reference};

/// Reads and validates the project file at `path`, and the libraries it uses.
///
/// # Errors
/// A report of all that is wrong with it, by place.
pub fn read(path: &Path) -> Result<Project, Report> {
    read_with(path, &|asked| {
        if asked == path {
            files::open(asked)
        } else {
            files::open_library(asked)
        }
    })
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
        Some(project) if !report.has_errors() => Ok(Project {
            cautions: report.sorted().diagnostics,
            ..project
        }),
        Some(_) | None => Err(report.sorted()),
    }
}

/// Whether a project, a channel or a pattern can have this name; if not, the nearest it could have,
/// which is empty where nothing is left of it.
///
/// # Errors
/// The name it could have.
pub fn check_name(name: &str) -> Result<(), String> {
    if read::check_name(name, Span::default(), &mut Report::default()) {
        Ok(())
    } else {
        Err(read::sound_name(name))
    }
}

/// A time as a project has it, such as `250 ms`.
///
/// # Errors
/// What is wrong with it, and what was expected.
pub fn time(text: &str) -> Result<Time, String> {
    read::quantity(text, Span::default()).map_err(|fault| {
        let hint = fault
            .hint
            .map_or_else(String::new, |hint| format!("; {hint}"));
        format!("{}, {}{hint}", fault.message, fault.label)
    })
}

/// The JSON Schema of a project file, from the types that parse it.
pub fn schema() -> schemars::Schema {
    schema::tidied(schema_of_types(), "light project")
}

/// The same with a type for each kind of mapping.
fn schema_of_types() -> schemars::Schema {
    schemars::schema_for!(raw::Project)
}

/// The JSON Schema of a library of patterns.
pub fn library_schema() -> schemars::Schema {
    schema::tidied(schemars::schema_for!(raw::Library), "library of patterns")
}
