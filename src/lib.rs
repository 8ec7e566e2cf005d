//! duskloom compiles light patterns into firmware for small AVR chips.

#![deny(unsafe_code)]

pub mod chip;
pub mod diagnostic;
pub mod firmware;
pub mod emit;
pub mod design;
pub mod budget;
pub mod light;
pub mod plan;
pub mod player;
pub mod score;
pub mod spec;
pub mod units;
pub mod verify;
