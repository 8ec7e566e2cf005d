//! For a build script: a project compiled to a module of the crate that is being built.
//!
//! In `Cargo.toml`, `build.rs` and `src/main.rs`:
//!
//! ```toml
//! build-dependencies.duskloom = { version = "0.1", default-features = false }
//! ```
//! ```ignore
//! fn main() { duskloom::build("light.yaml") }
//! ```
//! ```ignore
//! include!(concat!(env!("OUT_DIR"), "/light.rs"));
//! ```
//!
//! Then `light::Player` plays what `light.yaml` says. Errors and cautions show up in cargo's output
//! with file and line, and a change to the project or a library of it builds anew.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process;

use crate::design::Design;
use crate::diagnostic::{Diagnostic, Report, Severity, Sources};
use crate::emit::rust;
use crate::escape::{is_shown, line};

/// Compiles the project at `path` (relative to the crate) to `OUT_DIR/NAME.rs`, where NAME is the
/// file's name without its extension. Ends the build script where the project has errors.
pub fn build(path: impl AsRef<Path>) {
    Build::new(path).run();
}

/// A compilation with options.
#[derive(Debug, Clone)]
pub struct Build {
    path: PathBuf,
    outputs: bool,
}

impl Build {
    /// Of the project at `path`.
    pub fn new(path: impl AsRef<Path>) -> Self {
        Self {
            path: path.as_ref().to_path_buf(),
            outputs: false,
        }
    }

    /// Adds `Outputs`, which puts frames out on `SetDutyCycle` channels. The crate that is being
    /// built depends on `embedded-hal` 1.0 then.
    pub fn with_outputs(self) -> Self {
        Self {
            outputs: true,
            ..self
        }
    }

    /// Does it.
    pub fn run(&self) {
        let outcome = self.compiled();
        print!("{}", outcome.messages);
        match outcome.text {
            Some(text) => self.write(&text),
            None => process::exit(1),
        }
    }

    fn write(&self, text: &str) {
        let folder = std::env::var_os("OUT_DIR").map(PathBuf::from);
        let written = folder
            .ok_or_else(|| "`OUT_DIR` is not set".to_string())
            .and_then(|folder| {
                let name = self.path.with_extension("rs");
                let file = folder.join(name.file_name().unwrap_or_default());
                std::fs::write(&file, text)
                    .map_err(|error| line(&format!("{}: {error}", file.display())).into_owned())
            });
        if let Err(reason) = written {
            println!("cargo::error={reason}; `duskloom::build` is for build scripts");
            process::exit(1);
        }
    }

    /// The module, if there is one, and what cargo is to be told.
    fn compiled(&self) -> Outcome {
        let mut messages = String::new();
        let mut watch = |path: &Path| {
            let path = path.to_string_lossy();
            // cargo reads a line, and has no way to spell what does not show on one.
            if path.chars().all(is_shown) {
                let _ = writeln!(messages, "cargo::rerun-if-changed={path}");
            }
        };
        match Design::read(&self.path) {
            Ok(design) => {
                let sources = &design.project.sources;
                sources.iter().for_each(|source| watch(&source.path));
                for caution in &design.cautions().diagnostics {
                    tell(&mut messages, caution, sources);
                }
                Outcome {
                    text: Some(rust::module(&design, self.outputs)),
                    messages,
                }
            }
            Err(report) => {
                if report.sources.iter().next().is_none() {
                    watch(&self.path);
                }
                report.sources.iter().for_each(|source| watch(&source.path));
                Outcome::failure(messages, &report)
            }
        }
    }
}

struct Outcome {
    text: Option<String>,
    messages: String,
}

impl Outcome {
    fn failure(mut messages: String, report: &Report) -> Self {
        for diagnostic in &report.diagnostics {
            tell(&mut messages, diagnostic, &report.sources);
        }
        Self {
            text: None,
            messages,
        }
    }
}

/// A diagnostic as cargo shows it: on one line, its place first.
fn tell(messages: &mut String, diagnostic: &Diagnostic, sources: &Sources) {
    let kind = match diagnostic.severity {
        Severity::Error => "error",
        Severity::Caution => "warning",
    };
    let mut text = String::new();
    if let Some(span) = diagnostic.span {
        let place = sources.position(span);
        let path = sources.get(span.file).path.display();
        let _ = write!(text, "{path}:{}:{}: ", place.line, place.column);
    }
    let _ = write!(text, "[{}] {}", diagnostic.code, diagnostic.message);
    if !diagnostic.label.is_empty() {
        let _ = write!(text, " ({})", diagnostic.label);
    }
    if let Some(hint) = &diagnostic.hint {
        let _ = write!(text, "; {hint}");
    }
    let _ = writeln!(messages, "cargo::{kind}={}", line(&text));
}
