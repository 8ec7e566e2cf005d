//! What a stage has found fault with so far.

use crate::diagnostic::{Diagnostic, Severity};

/// Errors and cautions, kept apart.
#[derive(Default)]
pub struct Notes {
    errors: Vec<Diagnostic>,
    cautions: Vec<Diagnostic>,
}

impl Notes {
    pub fn add(&mut self, diagnostic: Diagnostic) {
        match diagnostic.severity {
            Severity::Error => self.errors.push(diagnostic),
            Severity::Caution => self.cautions.push(diagnostic),
        }
    }

    pub fn failed(&self) -> bool {
        !self.errors.is_empty()
    }

    /// In the order of the file.
    pub fn into_errors(mut self) -> Vec<Diagnostic> {
        self.errors.sort_by_key(|error| error.span);
        self.errors
    }

    /// In the order of the file.
    pub fn into_cautions(mut self) -> Vec<Diagnostic> {
        self.cautions.sort_by_key(|caution| caution.span);
        self.cautions
    }
}
