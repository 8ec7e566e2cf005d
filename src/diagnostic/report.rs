//! What one run has to say, in the order of the files.

use super::{Diagnostic, Severity, Sources, Span};

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

    /// Adds what may only follow from an error within its place: unless there is one.
    pub fn follow_up(&mut self, diagnostic: Diagnostic) {
        let within = |outer: Span, inner: Span| {
            outer.file == inner.file && outer.start <= inner.start && inner.end <= outer.end
        };
        let explained = self.diagnostics.iter().any(|found| {
            let places = diagnostic.span.zip(found.span);
            found.severity == Severity::Error && places.is_some_and(|(of, at)| within(of, at))
        });
        if !explained {
            self.push(diagnostic);
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

    #[test]
    fn what_follows_from_an_error_within_is_not_said() {
        let place = |start, end| Span {
            start,
            end,
            ..Span::default()
        };
        let mut report = Report::default();
        report.push(Diagnostic::error("S015", place(12, 14), "unreadable"));
        report.push(Diagnostic::caution("S039", place(40, 44), "careful"));
        report.follow_up(Diagnostic::error("S016", place(10, 20), "too few"));
        assert_eq!(report.diagnostics.len(), 2);
        report.follow_up(Diagnostic::error("S016", place(13, 20), "too few"));
        report.follow_up(Diagnostic::error("S016", place(30, 50), "too few"));
        assert_eq!(report.diagnostics.len(), 4);
    }
}
