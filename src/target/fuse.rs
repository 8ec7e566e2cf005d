//! A fuse byte to program.

/// A fuse byte to program.
#[derive(Debug, Clone, PartialEq)]
pub struct FusePlan {
    /// `low`, `high`, `extended`.
    pub name: &'static str,
    /// avrdude's name of it.
    pub memory: &'static str,
    pub value: u8,
    pub factory: u8,
    /// Why it is what it is.
    pub reason: String,
}

impl FusePlan {
    /// Whether the delivered chip has another value.
    pub fn must_change(&self) -> bool {
        self.value != self.factory
    }
}
