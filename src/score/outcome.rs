//! What chance came to on the chip.

use crate::units::{Level, Ticks};

/// What a channel drew, for those who compare with the intent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// A length and the level to go to.
    Random(Ticks, Level),
    /// A length.
    Keep(Ticks),
    /// Which branch.
    Branch(u8),
}
