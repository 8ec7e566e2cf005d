//! Brightness: from a share of the project's scale to the duty that the chip puts out.
//!
//! ```text
//! share ─Scale→ level ─curve→ luminance ─Depth→ duty
//!                 └───────────Packed────────────┘
//! ```
//!
//! A `Scale` knows the ideal light of every level, a `Depth` what duties the chip can make of
//! it, and [`pack()`] finds the smallest way to store the duties. A [`Tint`] is its colour. Pure numbers: no chip, no timer.

pub mod cie;
mod curve;
mod depth;
mod pack;
mod report;
mod scale;
#[cfg(test)]
mod testing;
mod tint;

pub use depth::{Depth, FULL};
pub use pack::{
    Argument, DecoderText, Form, Packed, Size, Surroundings, TEMPLATES, alternatives, pack,
};
pub use report::{Figures, LevelRow, rows};
pub use scale::Scale;
pub use tint::Tint;
