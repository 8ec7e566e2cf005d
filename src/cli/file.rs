//! Files that a person asks for by name.

use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use tempfile::NamedTempFile;

use super::calm::Calm;
use super::failure::Failure;
use super::screen;

/// What such a file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Svg,
    Html,
}

impl Kind {
    /// What every file of the kind begins with.
    fn beginning(self) -> &'static str {
        match self {
            Self::Svg => "<svg ",
            Self::Html => "<!doctype html>",
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Svg => "an SVG picture",
            Self::Html => "a page",
        }
    }
}

/// Writes a file whole, or not at all; `-` is the standard output. Takes the place of a file of the
/// same kind, and of nothing else: `--svg porch.yaml` is a slip of the hand.
///
/// # Errors
/// Something else is there, or it cannot be written.
pub(super) fn write(path: &Path, kind: Kind, text: &str) -> Result<(), Failure> {
    if path == Path::new("-") {
        return screen::hand_out(text);
    }
    let is_ours = |there: &[u8]| there.starts_with(kind.beginning().as_bytes());
    replace(path, text, kind.name(), is_ours)
}

/// Writes a file whole, or not at all, in the place of nothing or of what `is_ours` knows; `what` says
/// what that is. Leaves alone what would not change.
///
/// # Errors
/// Something else is there, or it cannot be written.
pub(super) fn replace(
    path: &Path,
    text: &str,
    what: &str,
    is_ours: impl Fn(&[u8]) -> bool,
) -> Result<(), Failure> {
    match read(path) {
        Ok(Some(there)) if there == text.as_bytes() => Ok(()),
        Ok(Some(there)) if !there.is_empty() && !is_ours(&there) => {
            let message = format!("{} is there, and not {what}", path.display());
            Err(Failure::world(message).hint("give another name, or move it away"))
        }
        Err(error) => Err(Failure::file("write", path, &error)),
        Ok(_) => {
            let _calm = Calm::new();
            write_whole(path, text)
        }
    }
}

/// The bytes of a file; `None`: there is no such file.
///
/// # Errors
/// It cannot be read, or is a pipe or a device, which may keep its reader waiting for ever.
pub(super) fn read(path: &Path) -> io::Result<Option<Vec<u8>>> {
    let there = fs::metadata(path).and_then(|kind| {
        if kind.is_file() || kind.is_dir() {
            fs::read(path)
        } else {
            Err(io::Error::new(
                ErrorKind::InvalidInput,
                "it is a pipe or a device",
            ))
        }
    });
    match there {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(error),
    }
}

/// What a file is called until it is whole.
pub(super) const UNFINISHED: &str = ".writing-";

/// Writes a file, with the folders it is in, whole or not at all.
///
/// # Errors
/// It cannot be written.
pub(super) fn write_whole(path: &Path, text: &str) -> Result<(), Failure> {
    let fault = |error: io::Error| Failure::file("write", path, &error);
    let home = match path.parent() {
        Some(home) if home != Path::new("") => home,
        _ => Path::new("."),
    };
    fs::create_dir_all(home).map_err(fault)?;
    let mut builder = tempfile::Builder::new();
    as_usual(builder.prefix(UNFINISHED));
    let mut file = builder.tempfile_in(home).map_err(fault)?;
    file.write_all(text.as_bytes()).map_err(fault)?;
    NamedTempFile::persist(file, path)
        .map(|_| ())
        .map_err(|error| fault(error.error))
}

/// A temporary file is for its owner only, unless told otherwise.
#[cfg(unix)]
fn as_usual(builder: &mut tempfile::Builder) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn as_usual(_: &mut tempfile::Builder) {}
