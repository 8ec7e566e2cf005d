//! Opens the project file and the libraries it uses.

use std::fs::{self, File};
use std::io::{self, Read as _};
use std::path::{Component, Path, PathBuf};
use std::sync::Arc;

use super::raw;
use super::read::{OneOrMany, Read};
use super::yaml::{self, FILE_BYTES, FILES};
use crate::diagnostic::{Diagnostic, FileId, Report, Span, Spanned, short};

/// The files of a project, read but not yet understood.
pub(super) struct Loaded {
    pub project: raw::Project,
    /// In the order in which they are named.
    pub libraries: Vec<raw::Library>,
}

/// Where the bytes of files come from.
type Open<'o> = &'o dyn Fn(&Path) -> io::Result<Vec<u8>>;

/// The bytes of a file, no more than one beyond the limit.
pub(super) fn open(path: &Path) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    File::open(path)?
        .take(FILE_BYTES + 1)
        .read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The same for a library, of which a project says where it is: no pipe or device, which might keep
/// us waiting for ever.
pub(super) fn open_library(path: &Path) -> io::Result<Vec<u8>> {
    let kind = fs::metadata(path)?;
    if kind.is_file() || kind.is_dir() {
        open(path)
    } else {
        Err(io::ErrorKind::InvalidInput.into())
    }
}

/// Reads the project and its libraries; `None` when nothing useful could be read.
pub(super) fn load(path: &Path, open: Open, report: &mut Report) -> Option<Loaded> {
    let project: raw::Project = document(path, None, open, report)?;
    let mut libraries = Libraries {
        open,
        opened: vec![plain(path)],
        loaded: Vec::new(),
    };
    libraries.follow(path, project.r#use.as_ref(), &mut vec![plain(path)], report);
    Some(Loaded {
        project,
        libraries: libraries.loaded,
    })
}

struct Libraries<'o> {
    open: Open<'o>,
    /// Every file that was opened, so that two ways to a library read it once.
    opened: Vec<PathBuf>,
    loaded: Vec<raw::Library>,
}

impl Libraries<'_> {
    /// Loads what a file uses; `within` are the files whose `use` is being followed.
    fn follow(
        &mut self,
        user: &Path,
        used: Option<&OneOrMany<Spanned<String>>>,
        within: &mut Vec<PathBuf>,
        report: &mut Report,
    ) {
        for name in used.iter().flat_map(|used| &used.0) {
            if name.value.trim().is_empty() {
                report.push(
                    Diagnostic::error("S001", name.span, "no file is named here")
                        .label("expected a library such as `library/marine.yaml`")
                        .hint("remove the line if there is none"),
                );
                continue;
            }
            let path = user.parent().unwrap_or(Path::new("")).join(&name.value);
            let plain = plain(&path);
            if within.contains(&plain) {
                let message = format!("`{}` uses itself", short(&name.value));
                report.push(
                    Diagnostic::error("S042", name.span, message)
                        .label("this file is being read already")
                        .hint("remove it, or move what both files need into a third"),
                );
            } else if self.opened.len() == FILES {
                let message = format!("a project of more than {FILES} files");
                report.push(
                    Diagnostic::error("S044", name.span, message)
                        .label("one file too many")
                        .hint("put several libraries into one file"),
                );
                return;
            } else if !self.opened.contains(&plain) {
                self.opened.push(plain.clone());
                let library = document(&path, Some(name.span), self.open, report);
                let Some(library): Option<raw::Library> = library else {
                    continue;
                };
                within.push(plain);
                self.follow(&path, library.r#use.as_ref(), within, report);
                within.pop();
                self.loaded.push(library);
            }
        }
    }
}

/// The path without `.` and `..`, so that two ways of writing it compare equal.
pub fn plain(path: &Path) -> PathBuf {
    let mut plain = PathBuf::new();
    for component in path.components() {
        match component {
            Component::CurDir => {}
            Component::ParentDir if plain.file_name().is_some() => {
                plain.pop();
            }
            _ => plain.push(component),
        }
    }
    plain
}

/// The one document of a file; `named_at` is where another file names it.
fn document<T: Read>(
    path: &Path,
    named_at: Option<Span>,
    open: Open,
    report: &mut Report,
) -> Option<T> {
    let bytes = bytes(path, named_at.is_some(), open)
        .map_err(|fault| {
            report.push(Diagnostic {
                span: named_at,
                ..fault
            })
        })
        .ok()?;
    let readable = bytes
        .utf8_chunks()
        .next()
        .map_or(0, |chunk| chunk.valid().len());
    let all_readable = readable == bytes.len();
    let text = String::from_utf8(bytes)
        .unwrap_or_else(|error| String::from_utf8_lossy(error.as_bytes()).into_owned());
    let file = report.sources.add(path.to_path_buf(), text);
    if !all_readable {
        report.push(not_text(file, readable));
        return None;
    }
    let source = Arc::clone(report.sources.get(file));
    let tree = yaml::parse(file, &source.text, &mut |fault| report.push(fault));
    match tree {
        Ok(Some(root)) if named_at.is_some() && root.get("chip").is_some() => {
            report.push(Diagnostic {
                span: named_at,
                ..a_project(path)
            });
            None
        }
        Ok(Some(root)) if !root.is_null() => T::read(&root, report),
        Ok(_) => {
            report.push(nothing_written::<T>(file));
            None
        }
        Err(fault) => {
            report.push(fault);
            None
        }
    }
}

/// The bytes of a file; the error still lacks a place.
fn bytes(path: &Path, library: bool, open: Open) -> Result<Vec<u8>, Diagnostic> {
    let shown = path.display();
    let bytes = open(path).map_err(|error| unreadable(path, library, &error))?;
    if bytes.len() as u64 > FILE_BYTES {
        let mib = FILE_BYTES >> 20;
        return Err(
            Diagnostic::placeless("S003", format!("{shown} is larger than {mib} MiB"))
                .label("named here")
                .hint("is this a light project?"),
        );
    }
    Ok(bytes)
}

fn unreadable(path: &Path, library: bool, error: &io::Error) -> Diagnostic {
    let shown = path.display();
    let (message, hint) = match error.kind() {
        io::ErrorKind::NotFound if library => (
            format!("there is no file {shown}"),
            "check the name; it counts from the folder of the file that uses it",
        ),
        io::ErrorKind::NotFound => (
            format!("there is no file {shown}"),
            "check the name and the folder; `duskloom new NAME` writes a project to start from",
        ),
        io::ErrorKind::IsADirectory => (
            format!("{shown} is a folder"),
            "name the file in it that is meant",
        ),
        io::ErrorKind::InvalidInput => (
            format!("{shown} is a pipe or a device"),
            "a library is an ordinary file",
        ),
        // Only what reads revisions of git words its errors itself.
        io::ErrorKind::Other => (
            format!("cannot read {shown}: {error}"),
            "check the revision and the path in it; `git log --oneline -- PATH` lists what has it",
        ),
        _ => (
            format!("cannot read {shown}: {error}"),
            "check what it is, and who may read it",
        ),
    };
    Diagnostic::placeless("S001", message)
        .label("named here")
        .hint(hint)
}

/// What is used is no library; the error still lacks a place.
fn a_project(path: &Path) -> Diagnostic {
    let message = format!("{} is a project, not a library", path.display());
    Diagnostic::placeless("S046", message)
        .label("it has a `chip`")
        .hint("move the patterns that both need into a file with `patterns:` alone, and use that")
}

/// The first byte that is no text shows as a replacement character.
fn not_text(file: FileId, at: usize) -> Diagnostic {
    let end = at + char::REPLACEMENT_CHARACTER.len_utf8();
    let span = Span {
        file,
        start: at as u32,
        end: end as u32,
    };
    Diagnostic::error("S002", span, "this is not UTF-8 text")
        .label("the first byte that is not")
        .hint("save the file as UTF-8")
}

fn nothing_written<T: Read>(file: FileId) -> Diagnostic {
    let span = Span {
        file,
        start: 0,
        end: 0,
    };
    Diagnostic::error("S010", span, "nothing is written here")
        .label(format!("expected {}", T::expected()))
        .hint("`duskloom new NAME` writes a project to start from")
}
