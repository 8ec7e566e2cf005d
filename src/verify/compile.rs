//! Compiles the generated source, as a person would: a folder, and `make` in it.

use std::fs;
use std::io;
use std::process::Command;

use super::{Firmware, Missing, VerifyError};
use crate::design::Design;
use crate::emit;

/// What `make` needs, and the Debian packages that have it.
const TOOLS: [(&str, &str); 3] = [
    ("make", "make"),
    ("avr-gcc", "gcc-avr"),
    ("avr-objcopy", "binutils-avr"),
];
const LIBRARY_PACKAGE: &str = "avr-libc";

/// Builds the complete firmware of a design in a folder that is removed afterwards.
///
/// # Errors
/// A tool is missing, or the compiler refuses.
pub fn compile(design: &Design) -> Result<Firmware, VerifyError> {
    for (command, package) in TOOLS {
        find(command, package)?;
    }
    let folder = tempfile::tempdir()?;
    for file in emit::firmware(design) {
        fs::write(folder.path().join(&file.path), file.text)?;
    }
    let elf = format!("{}.elf", design.project.name.value);
    let made = Command::new("make")
        .args(["--silent", &elf])
        .current_dir(folder.path())
        .output()?;
    if !made.status.success() {
        let said = String::from_utf8_lossy(&made.stderr).into_owned();
        return Err(if said.contains("avr/io.h: No such file") {
            Missing::Library {
                package: LIBRARY_PACKAGE,
            }
            .into()
        } else {
            VerifyError::Compile(said)
        });
    }
    Ok(Firmware::read(&folder.path().join(elf))?)
}

fn find(command: &'static str, package: &'static str) -> Result<(), VerifyError> {
    match Command::new(command).arg("--version").output() {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            Err(Missing::Tool { command, package }.into())
        }
        Err(error) => Err(error.into()),
    }
}
