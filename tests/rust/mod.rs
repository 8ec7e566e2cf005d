//! Rust as an output: the crate, the firmware, and the compiler in a build script.

mod avr;
mod buildscript;
mod host;
mod support;
mod text;
