//! C: `make`.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Tool, run};
use crate::design::Design;
use crate::verify::{Missing, VerifyError};

/// What `make` needs, and the Debian packages that have it.
pub(super) const TOOLS: &[Tool] = &[
    ("make", "make"),
    ("avr-gcc", "gcc-avr"),
    ("avr-objcopy", "binutils-avr"),
];
const LIBRARY_PACKAGE: &str = "avr-libc";

/// Builds what is in the folder; where the ELF file is.
pub(super) fn build(design: &Design, folder: &Path) -> Result<PathBuf, VerifyError> {
    let elf = format!("{}.elf", design.project.name.value);
    let made = run(Command::new("make").args(["--silent", &elf]), folder)?;
    made.map_err(|said| {
        if said.contains("avr/io.h: No such file") {
            Missing::Library {
                package: LIBRARY_PACKAGE,
            }
            .into()
        } else {
            VerifyError::Compile(said)
        }
    })?;
    Ok(folder.join(elf))
}
