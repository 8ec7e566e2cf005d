//! Patterns by name, the project's own and those of its libraries.

use std::collections::HashMap;

use super::scope::Scope;
use super::tracks::Unfolded;
use crate::diagnostic::{Diagnostic, Report, Span, Spanned, short};
use crate::spec::files::Loaded;
use crate::spec::project::Pattern;
use crate::spec::raw;
use crate::spec::read::{Named, check_name, nearest};
use crate::units::Share;

/// The most patterns of a firmware.
pub(super) const PATTERNS: usize = 64;

/// All patterns that were written.
pub(super) struct Written<'a> {
    /// The project's own come first.
    pub patterns: Vec<Entry<'a>>,
    /// How many are the project's own.
    pub own: usize,
    by_name: HashMap<&'a str, usize>,
}

/// One written pattern; `None` if it could not be read.
#[derive(Clone, Copy)]
pub(super) struct Entry<'a> {
    pub name: &'a Spanned<String>,
    pub pattern: Option<&'a raw::Pattern>,
}

impl<'a> Written<'a> {
    /// Collects them; complains of names that are unsound or given twice.
    pub(super) fn collect(loaded: &'a Loaded, report: &mut Report) -> Self {
        let mut written = Self {
            patterns: Vec::new(),
            own: 0,
            by_name: HashMap::new(),
        };
        let libraries = loaded
            .libraries
            .iter()
            .map(|library| library.patterns.as_ref());
        let own = loaded
            .project
            .patterns
            .as_ref()
            .and_then(|patterns| patterns.0.as_ref());
        written.add(own, report);
        written.own = written.patterns.len();
        for library in libraries {
            written.add(library, report);
        }
        written
    }

    fn add(&mut self, patterns: Option<&'a Named<raw::Pattern>>, report: &mut Report) {
        for (name, pattern) in patterns.iter().flat_map(|patterns| &patterns.entries) {
            check_name(&name.value, name.span, report);
            if let Some(&earlier) = self.by_name.get(name.value.as_str()) {
                let place = report.sources.position(self.patterns[earlier].name.span);
                let file = self.patterns[earlier].name.span.file;
                let path = report.sources.get(file).path.display().to_string();
                let message = format!("there is a pattern `{}` already", short(&name.value));
                report.push(
                    Diagnostic::error("S030", name.span, message)
                        .label(format!(
                            "the other is at {path}:{}:{}",
                            place.line, place.column
                        ))
                        .hint("choose another name"),
                );
                continue;
            }
            self.by_name.insert(&name.value, self.patterns.len());
            self.patterns.push(Entry {
                name,
                pattern: pattern.as_ref(),
            });
        }
    }

    /// The index of a pattern; if there is none of that name, the report says so.
    pub(super) fn find(&self, name: &Spanned<String>, report: &mut Report) -> Option<usize> {
        let found = self.by_name.get(name.value.as_str()).copied();
        if found.is_none() {
            let known = || self.patterns.iter().map(|entry| entry.name.value.as_str());
            let meant = nearest(&name.value, known());
            let listed: Vec<_> = known().take(24).collect();
            let message = format!("there is no pattern `{}`", short(&name.value));
            report.push(
                Diagnostic::error("S032", name.span, message)
                    .label(format!("known: {}", listed.join(", ")))
                    .maybe_hint(meant.map(|meant| format!("did you mean `{meant}`?"))),
            );
        }
        found
    }

    /// The pattern of a name, if there is one.
    pub(super) fn get(&self, name: &str) -> Option<&Entry<'a>> {
        self.by_name.get(name).map(|&index| &self.patterns[index])
    }

    /// The names that a pattern's tracks play.
    pub(super) fn played_by(&self, index: usize) -> impl Iterator<Item = usize> {
        let tracks = match self.patterns[index].pattern {
            Some(raw::Pattern::Tracks(tracks)) => tracks.tracks.as_slice(),
            Some(raw::Pattern::Track(track)) => std::slice::from_ref(track.as_ref()),
            Some(raw::Pattern::Steps(_)) | None => &[],
        };
        let names = tracks.iter().filter_map(|track| track.play.as_ref());
        names.filter_map(|name| self.by_name.get(name.value.as_str()).copied())
    }
}

/// Resolves patterns one by one.
pub(super) struct Resolver<'a> {
    pub written: &'a Written<'a>,
    pub scope: &'a Scope,
    pub report: &'a mut Report,
    /// The circles of `play` already spoken of, each as its sorted names.
    pub circles: Vec<Vec<&'a str>>,
    /// The lowest lit level.
    pub lowest: Share,
    /// The steps of all patterns so far, played ones counted wherever they are played.
    pub steps: usize,
}

impl Resolver<'_> {
    /// What a share of the scale means: what is asked to be lit is at least the lowest lit level.
    pub(super) fn lit(&self, share: Share) -> Share {
        if share.0 > 0.0 {
            Share(share.0.max(self.lowest.0))
        } else {
            share
        }
    }

    /// The pattern of this index. Faults are in the report.
    pub(super) fn pattern(&mut self, index: usize) -> Pattern {
        let Entry { name, pattern } = self.written.patterns[index];
        let flashing = match pattern {
            Some(raw::Pattern::Tracks(tracks)) => {
                let inner = tracks.tracks.iter().filter_map(|track| track.flashing);
                inner.for_each(|inner| self.report.push(flashing_of_a_track(inner.span)));
                tracks.flashing
            }
            Some(raw::Pattern::Track(track)) => track.flashing,
            Some(raw::Pattern::Steps(_)) | None => None,
        };
        let tracks = match pattern {
            None => Vec::new(),
            Some(raw::Pattern::Tracks(tracks)) if tracks.tracks.is_empty() => {
                self.report.push(no_tracks(tracks.span));
                Vec::new()
            }
            Some(raw::Pattern::Steps(steps)) => {
                self.track(Unfolded::plain(steps)).into_iter().collect()
            }
            Some(raw::Pattern::Track(track)) => self.tracks(name, std::slice::from_ref(track)),
            Some(raw::Pattern::Tracks(tracks)) => self.tracks(name, &tracks.tracks),
        };
        Pattern {
            name: name.clone(),
            tracks,
            flashing: flashing.map(|flashing| flashing.value),
        }
    }
}

fn flashing_of_a_track(span: Span) -> Diagnostic {
    Diagnostic::error(
        "S010",
        span,
        "`flashing` does not fit in one of several tracks",
    )
    .label("it is said of the pattern")
    .hint("put it beside `tracks`: `{flashing: accepted, tracks: […]}`")
}

fn no_tracks(span: Span) -> Diagnostic {
    Diagnostic::error("S037", span, "a pattern without tracks")
        .label("expected at least one track")
        .hint("such as `- {channels: all, steps: […]}`")
}
