//! Patterns: from a track's steps to programs for the player, and those to bytes.
//!
//! ```text
//! track ─moves→ what one channel does ─lower→ operations ─split, encode→ bytes
//! ```

mod compose;
mod draw;
mod encode;
mod fit;
mod format;
mod grid;
pub mod intent;
mod lower;
mod moves;
mod name;
mod outcome;
mod program;
mod shape;
mod split;
mod start;
mod start_record;

pub use compose::score;
pub use draw::{Resolved, resolve};
pub use encode::{Address, Image, Listed, encode, starts_size};
pub use format::{Code, Format, StartFormat, Widths};
pub use grid::Grid;
pub use name::ProgramName;
pub use outcome::Outcome;
pub use program::*;
pub use start::Run;
pub use start_record::StartField;
