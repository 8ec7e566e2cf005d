//! Rust: `cargo`, with a compiler that can build `core` for an AVR.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Tool, run};
use crate::design::Design;
use crate::emit::rust::package;
use crate::verify::{Missing, VerifyError};

/// What links, and the Debian package that has it.
pub(super) const TOOLS: &[Tool] = &[("avr-gcc", "gcc-avr")];

/// The target of the generated `.cargo/config.toml`.
const TARGET: &str = "avr-none";

/// A compiler and its cargo. Either may be a proxy that `RUSTUP_TOOLCHAIN` steers.
struct Toolchain {
    cargo: &'static str,
    rustc: &'static str,
    rustup: Option<&'static str>,
}

/// Debian's packages, then a nightly toolchain, then whatever is there.
const TOOLCHAINS: [Toolchain; 3] = [
    Toolchain {
        cargo: "/usr/bin/cargo",
        rustc: "/usr/bin/rustc",
        rustup: None,
    },
    Toolchain {
        cargo: "cargo",
        rustc: "rustc",
        rustup: Some("nightly"),
    },
    Toolchain {
        cargo: "cargo",
        rustc: "rustc",
        rustup: None,
    },
];

/// Builds what is in the folder; where the ELF file is.
///
/// `CARGO_TARGET_DIR` is honoured, so that `core` need not be compiled each time.
pub(super) fn build(design: &Design, folder: &Path) -> Result<PathBuf, VerifyError> {
    let toolchain = TOOLCHAINS.iter().find(|toolchain| toolchain.builds_core());
    let toolchain = toolchain.ok_or(Missing::Core)?;
    let cache = std::env::var_os("CARGO_TARGET_DIR").map(PathBuf::from);
    let target = cache.unwrap_or_else(|| folder.join("target"));
    let target = std::path::absolute(target)?;
    let mut cargo = toolchain.command(toolchain.cargo);
    cargo
        .args(["build", "--release", "--quiet", "--target-dir"])
        .arg(&target)
        .env("RUSTC", toolchain.rustc)
        .env("RUSTC_BOOTSTRAP", "1")
        // The assembly of an incremental build is not told which chip it is for.
        .env("CARGO_INCREMENTAL", "0")
        .env_remove("RUSTFLAGS")
        .env_remove("CARGO_ENCODED_RUSTFLAGS");
    run(&mut cargo, &folder.join("firmware"))?.map_err(VerifyError::Compile)?;
    let elf = format!("{}.elf", package(&design.project.name.value));
    Ok(target.join(TARGET).join("release").join(elf))
}

impl Toolchain {
    fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        match self.rustup {
            Some(toolchain) => command.env("RUSTUP_TOOLCHAIN", toolchain),
            None => &mut command,
        };
        command
    }

    /// Whether it knows the target, and has the source of `core`.
    fn builds_core(&self) -> bool {
        let printed = |what| {
            let mut rustc = self.command(self.rustc);
            let output = rustc.args(["--print", what]).output().ok()?;
            String::from_utf8(output.stdout).ok()
        };
        let knows = printed("target-list").is_some_and(|all| all.lines().any(|one| one == TARGET));
        let has = printed("sysroot").is_some_and(|root| {
            let core = "lib/rustlib/src/rust/library/core/Cargo.toml";
            Path::new(root.trim()).join(core).exists()
        });
        knows && has
    }
}
