//! Why a verification could not be made. What it finds is [`Evidence`](super::Evidence), not an
//! error.

use std::fmt;
use std::io;

use super::FirmwareError;

/// Why there is no evidence.
#[derive(Debug)]
pub enum VerifyError {
    /// A tool or a part of this program is not there.
    Missing(Missing),
    /// The generated source does not compile: what the compiler said.
    Compile(String),
    /// Files could not be written, or a tool not be run.
    Io(io::Error),
    Elf(FirmwareError),
    /// The firmware lacks a symbol that the checks look for.
    NoSymbol(&'static str),
    /// No pattern has this name.
    NoPattern(String),
    Load(super::machine::LoadError),
    Pin(super::machine::NotAPin),
}

/// What is missing, and how to get it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// A command, and the Debian package that has it.
    Tool {
        command: &'static str,
        package: &'static str,
    },
    /// avr-gcc is there, but not its C library.
    Library { package: &'static str },
    /// No Rust compiler is there that can build `core` for an AVR.
    Core,
}

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Tool { command, package } => write!(
                f,
                "`{command}` is missing: install it, on Debian with `apt install {package}`"
            ),
            Self::Library { package } => write!(
                f,
                "the C library for AVR is missing: install it, on Debian with `apt install {package}`"
            ),
            Self::Core => write!(
                f,
                "a Rust compiler with the source of `core` is missing: install one, on Debian with \
                 `apt install rustc-web cargo-web rust-web-src`, elsewhere with `rustup toolchain \
                 install nightly --component rust-src`"
            ),
        }
    }
}

impl fmt::Display for VerifyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Missing(missing) => missing.fmt(f),
            Self::Compile(said) => write!(f, "the generated source does not compile:\n{said}"),
            Self::Io(error) => error.fmt(f),
            Self::Elf(error) => error.fmt(f),
            Self::NoSymbol(name) => write!(f, "the firmware has no symbol `{name}` to look at"),
            Self::NoPattern(name) => write!(f, "no show has a pattern `{name}`"),
            Self::Load(error) => error.fmt(f),
            Self::Pin(error) => error.fmt(f),
        }
    }
}

impl std::error::Error for VerifyError {}

impl From<Missing> for VerifyError {
    fn from(missing: Missing) -> Self {
        Self::Missing(missing)
    }
}

impl From<io::Error> for VerifyError {
    fn from(error: io::Error) -> Self {
        Self::Io(error)
    }
}

impl From<FirmwareError> for VerifyError {
    fn from(error: FirmwareError) -> Self {
        Self::Elf(error)
    }
}

impl From<super::machine::LoadError> for VerifyError {
    fn from(error: super::machine::LoadError) -> Self {
        Self::Load(error)
    }
}

impl From<super::machine::NotAPin> for VerifyError {
    fn from(error: super::machine::NotAPin) -> Self {
        Self::Pin(error)
    }
}
