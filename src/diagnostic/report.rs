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
    /// How many were found beyond those listed.
    pub unlisted: usize,
    /// Whether any of them all is an error.
    errors: bool,
}

impl Report {
    /// An empty report about these files.
    pub fn new(sources: Sources) -> Self {
        Self {
            sources,
            ..Self::default()
        }
    }

    /// What was found in these files, by place.
    pub fn of(sources: Sources, found: impl IntoIterator<Item = Diagnostic>) -> Self {
        let mut report = Self::new(sources);
        found.into_iter().for_each(|one| report.push(one));
        report.sorted()
    }

    /// Adds a diagnostic, unless the very same has been said (an alias brings a place up twice).
    pub fn push(&mut self, diagnostic: Diagnostic) {
        self.errors |= diagnostic.severity == Severity::Error;
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
        self.errors
    }

    /// By place, those without one first.
    pub fn sorted(mut self) -> Self {
        self.diagnostics.sort_by_key(|found| found.span);
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Span;

    fn at(start: u32) -> Span {
        Span {
            start,
            ..Span::default()
        }
    }

    #[test]
    fn what_is_too_much_is_counted_and_cautions_are_no_errors() {
        let mut report = Report::default();
        for place in 0..30 {
            report.push(Diagnostic::caution("S001", at(place), "careful"));
            report.push(Diagnostic::caution("S001", at(place), "careful"));
        }
        assert_eq!((report.diagnostics.len(), report.unlisted), (LISTED, 20));
        assert!(!report.has_errors());
        report.push(Diagnostic::error("S001", at(0), "wrong"));
        assert!(report.has_errors());
    }

    #[test]
    fn sorting_is_by_place() {
        let mut report = Report::default();
        report.push(Diagnostic::error("S001", at(7), "later"));
        report.push(Diagnostic::error("S001", at(2), "earlier"));
        report.push(Diagnostic::placeless("S001", "nowhere"));
        let order: Vec<_> = report
            .sorted()
            .diagnostics
            .into_iter()
            .map(|d| d.message)
            .collect();
        assert_eq!(order, ["nowhere", "earlier", "later"]);
    }
}
