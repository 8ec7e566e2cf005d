//! What can be started.

/// A pattern or a steady level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(transparent)]
pub struct Scene(pub(crate) u8);

impl Scene {
    /// calm
    pub const CALM: Self = Self(0);

    /// How many there are.
    pub const COUNT: u8 = 1;

    /// The scene of this number, counted from 0.
    pub const fn nth(number: u8) -> Option<Self> {
        if number < Self::COUNT {
            Some(Self(number))
        } else {
            None
        }
    }
}
