//! Files written whole or not at all.

use std::fs;
use std::io::{ErrorKind, Write};
use std::path::Path;

use tempfile::NamedTempFile;

use super::failure::Failure;

/// Writes a file at once: whoever reads it sees the old text or the new, never a part.
///
/// # Errors
/// If the system refuses.
pub fn write(place: &Path, text: &str) -> Result<(), Failure> {
    let fault = |error: std::io::Error| Failure::file("write", place, &error);
    let home = match place.parent() {
        Some(home) if home != Path::new("") => home,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    as_usual(builder.prefix(".writing-"));
    let mut file = builder.tempfile_in(home).map_err(fault)?;
    file.write_all(text.as_bytes()).map_err(fault)?;
    NamedTempFile::persist(file, place)
        .map(|_| ())
        .map_err(|error| fault(error.error))
}

/// Writes a picture where nothing is, or another picture.
///
/// # Errors
/// If something else is there, or the system refuses.
pub fn picture(place: &Path, svg: &str) -> Result<(), Failure> {
    match fs::read(place) {
        Ok(there) if !there.is_empty() && !there.starts_with(b"<svg ") => Err(Failure::world(
            format!("{} is there and is no picture of ours", place.display()),
        )
        .hint("give the picture another name, such as `wiring.svg`")),
        Err(error) if error.kind() != ErrorKind::NotFound => {
            Err(Failure::file("write", place, &error))
        }
        _ => write(place, svg),
    }
}

/// A temporary file is for its owner only, unless told otherwise.
#[cfg(unix)]
fn as_usual(builder: &mut tempfile::Builder) {
    use std::os::unix::fs::PermissionsExt;
    builder.permissions(fs::Permissions::from_mode(0o666));
}

#[cfg(not(unix))]
fn as_usual(_: &mut tempfile::Builder) {}
