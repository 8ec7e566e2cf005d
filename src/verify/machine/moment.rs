//! Time as the simulated chip counts it.

use std::ops::{Add, AddAssign, Sub};

/// A moment of a run, in cycles of the processor clock since power was first applied. It never goes
/// back, not at a reset either.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Moment(pub u64);

impl Moment {
    /// Later than any moment of a run: 'never'.
    pub const NEVER: Self = Self(u64::MAX);
}

impl Add<u64> for Moment {
    type Output = Self;

    fn add(self, cycles: u64) -> Self {
        Self(self.0.saturating_add(cycles))
    }
}

impl AddAssign<u64> for Moment {
    fn add_assign(&mut self, cycles: u64) {
        *self = *self + cycles;
    }
}

/// The cycles from the right-hand moment to the left-hand one.
impl Sub for Moment {
    type Output = u64;

    fn sub(self, earlier: Self) -> u64 {
        self.0 - earlier.0
    }
}
