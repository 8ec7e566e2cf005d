//! duskloom compiles light patterns into firmware for small AVR chips.

#![deny(unsafe_code)]

pub mod chip;
pub mod diagnostic;
pub mod light;
pub mod spec;
pub mod units;
pub mod verify;
