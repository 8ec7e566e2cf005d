//! duskloom compiles light patterns into firmware for small AVR chips.

#![deny(unsafe_code)]

mod buildscript;

pub mod budget;
pub mod chip;
pub mod curve;
pub mod design;
pub mod diagnostic;
pub mod emit;
pub mod firmware;
pub mod light;
pub mod plan;
pub mod player;
pub mod preview;
pub mod score;
pub mod spec;
pub mod units;
pub mod verify;

pub use buildscript::{Build, build};
