//! What one run has to say, in the order of the files.

use super::{Diagnostic, Severity, Sources};

/// So many diagnostics are listed; the rest is counted.
pub const LISTED: usize = 20;

/// The diagnostics of a run, with the files they point into.
#[derive(Debug, Clone, Default)]
pub struct Report {
    pub sources: Sources,
    /// By place once [`sorted`](Self::sorted). At most [`LISTED`].
    pub diagnostics: Vec<Diagnostic>,
    /// Errors found beyond those listed.
    pub unlisted: usize,
}

impl Report {
    /// An empty report about these files.
    pub fn new(sources: Sources) -> Self {
        Self {
            sources,
            ..Self::default()
        }
    }

    /// Adds a diagnostic, unless the very same has been said (an alias brings a place up twice).
    pub fn push(&mut self, diagnostic: Diagnostic) {
        if self.diagnostics.contains(&diagnostic) {
            return;
        }
        if self.diagnostics.len() < LISTED {
            self.diagnostics.push(diagnostic);
        } else {
            self.unlisted += 1;
        }
    }

    /// Whether anything in here stops the project from being built.
    pub fn has_errors(&self) -> bool {
        self.unlisted > 0
            || self
                .diagnostics
                .iter()
                .any(|found| found.severity == Severity::Error)
    }

    /// By place, those without one first.
    pub fn sorted(mut self) -> Self {
        self.diagnostics.sort_by_key(|found| found.span);
        self
    }
}
