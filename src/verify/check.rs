//! Small kinds of evidence.

use serde::Serialize;

/// Something measured, and the most it may be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Limit<T> {
    pub found: T,
    pub limit: T,
}

impl<T: PartialOrd> Limit<T> {
    pub fn holds(&self) -> bool {
        self.found <= self.limit
    }
}

/// A claim about behaviour that was put to the test.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Check {
    pub claim: &'static str,
    pub outcome: Outcome,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(tag = "outcome", content = "text", rename_all = "kebab-case")]
pub enum Outcome {
    /// It is so: what was seen.
    Holds(String),
    /// It is not: what was seen instead.
    Fails(String),
    /// The project has nothing to which it applies.
    NotApplicable(&'static str),
}

impl Check {
    pub fn holds(&self) -> bool {
        !matches!(self.outcome, Outcome::Fails(_))
    }
}
