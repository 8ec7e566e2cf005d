//! Compiles the generated source as a person would, in a folder that is removed afterwards. A
//! language is a file here.

mod c;
mod rust;

use std::fs;
use std::io;
use std::path::Path;
use std::process::Command;

use super::{Firmware, Missing, VerifyError};
use crate::design::Design;
use crate::emit::Language;

/// Builds the complete firmware of a design in C.
///
/// # Errors
/// A tool is missing, or the compiler refuses.
pub fn compile(design: &Design) -> Result<Firmware, VerifyError> {
    compile_as(design, Language::C)
}

/// Builds the complete firmware of a design in a language.
///
/// # Errors
/// A tool is missing, or the compiler refuses.
pub fn compile_as(design: &Design, language: Language) -> Result<Firmware, VerifyError> {
    for (command, package) in match language {
        Language::C => c::TOOLS,
        Language::Rust => rust::TOOLS,
    } {
        find(command, package)?;
    }
    let folder = tempfile::tempdir()?;
    for file in language.firmware(design) {
        let path = folder.path().join(file.path);
        fs::create_dir_all(path.parent().unwrap_or(folder.path()))?;
        fs::write(path, file.text)?;
    }
    let elf = match language {
        Language::C => c::build(design, folder.path()),
        Language::Rust => rust::build(design, folder.path()),
    }?;
    Ok(Firmware::read(&elf)?)
}

/// A command, and the Debian package that has it.
type Tool = (&'static str, &'static str);

fn find(command: &'static str, package: &'static str) -> Result<(), VerifyError> {
    match Command::new(command).arg("--version").output() {
        Ok(_) => Ok(()),
        Err(error) if error.kind() == io::ErrorKind::NotFound => {
            Err(Missing::Tool { command, package }.into())
        }
        Err(error) => Err(error.into()),
    }
}

/// Runs a build in a folder. `Err`: what it said, where it fails.
fn run(build: &mut Command, folder: &Path) -> io::Result<Result<(), String>> {
    let built = build.current_dir(folder).output()?;
    Ok(if built.status.success() {
        Ok(())
    } else {
        Err(String::from_utf8_lossy(&built.stderr).into_owned())
    })
}
