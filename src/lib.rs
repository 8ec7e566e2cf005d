//! duskloom compiles light patterns into firmware for small AVR chips.
//!
//! ```text
//! YAML ─spec→ Project ─plan→ Plan ─┐
//!               ├─light→ Packed ───┼─→ Design ─emit→ C, Rust
//!               └─score→ Image ────┘      ├─player→ frames ─→ preview, picture, page, live
//!                  │                      │     └─board→ currents, flicker, flashes, wiring
//!                  │                      ├─budget→ does it fit?
//!                  │                      └─diff→ what changes between two designs
//!                  └ score::intent: what was asked for, in real numbers
//! ```
//!
//! A stage is a module: it takes the type on its left and returns the one on its right. Nothing after
//! [`spec`] knows YAML, and nothing before [`emit`] knows C. The program could be these lines:
//!
//! ```
//! use duskloom::{design::Design, emit, spec};
//!
//! let project = spec::read("patterns/harbour.yaml".as_ref()).expect("a sound project");
//! let design = Design::new(project).expect("one that fits its chip");
//! for file in emit::firmware(&design) {
//!     println!("{}\n{}", file.path, file.text);
//! }
//! ```
//!
//! Imports run one way. A folder knows only those that stand before it here, which a test holds it to:
//!
//! ```text
//! escape · diagnostic · units · row · template · assembly · chip · spec · light · score · player
//! target · drive · plan · input · conduct · firmware · circuit · design · emit · board · budget · fit · buildscript
//! curve · preview · picture · page · live · diff · verify
//! ```
//!
//! What a person sees is played by [`player`], a model that agrees with the chip bit for bit: the
//! previews here, and the proof in [`verify`] that the compiled firmware does the same.

mod assembly;
pub mod board;
pub mod budget;
mod buildscript;
pub mod chip;
pub mod circuit;
pub mod conduct;
#[cfg(feature = "cli")]
pub mod curve;
pub mod design;
pub mod diagnostic;
#[cfg(feature = "cli")]
pub mod diff;
pub mod drive;
pub mod emit;
pub mod escape;
pub mod firmware;
mod fit;
pub mod input;
pub mod light;
#[cfg(feature = "cli")]
pub mod live;
#[cfg(feature = "cli")]
pub mod page;
#[cfg(feature = "cli")]
pub mod picture;
pub mod plan;
pub mod player;
#[cfg(feature = "cli")]
pub mod preview;
pub mod row;
pub mod score;
pub mod spec;
pub mod target;
mod template;
pub mod units;
#[cfg(feature = "cli")]
pub mod verify;

pub use buildscript::{Build, build};
