//! Patterns: from a track's steps to programs for the player.

mod compose;
mod draw;
mod fit;
mod grid;
mod lower;
mod moves;
mod program;
mod shape;

pub use compose::score;
pub use grid::Grid;
pub use program::*;
