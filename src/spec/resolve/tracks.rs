//! Tracks: which channels, whose steps, and in what order the channels follow each other.

use super::duration;
use super::patterns::Resolver;
use super::settings::within;
use super::steps::{Roles, Setting};
use crate::diagnostic::{Diagnostic, Span, Spanned, short};
use crate::spec::project::{Draw, Step, Track};
use crate::spec::raw::{self, Steps};
use crate::spec::read::OneOrMany;
use crate::units::Time;

/// What a track comes to once `play` is followed: its own settings, those of what it plays where it
/// gives none, and the steps.
#[derive(Clone, Copy)]
pub(super) struct Unfolded<'a> {
    channels: Option<&'a OneOrMany<Spanned<String>>>,
    stagger: Option<Spanned<Time>>,
    each: Option<Spanned<bool>>,
    ahead: Option<Spanned<Time>>,
    draw: Option<&'a Spanned<raw::Draw>>,
    steps: &'a Spanned<Steps>,
    span: Span,
}

impl<'a> Unfolded<'a> {
    /// Steps with no settings.
    pub(super) fn plain(steps: &'a Spanned<Steps>) -> Self {
        Self {
            channels: None,
            stagger: None,
            each: None,
            ahead: None,
            draw: None,
            steps,
            span: steps.span,
        }
    }

    /// With the settings that a track gives.
    fn set_by(self, track: &'a raw::Track) -> Self {
        Self {
            channels: track.channels.as_ref().or(self.channels),
            stagger: track.stagger.or(self.stagger),
            each: track.each.or(self.each),
            ahead: track.ahead.or(self.ahead),
            draw: track.draw.as_ref().or(self.draw),
            steps: self.steps,
            span: track.span,
        }
    }
}

impl<'a> Resolver<'a> {
    /// The tracks of a pattern; no channel may be in two.
    pub(super) fn tracks(
        &mut self,
        pattern: &'a Spanned<String>,
        raw: &'a [raw::Track],
    ) -> Vec<Track> {
        let mut tracks: Vec<Track> = Vec::new();
        for track in raw {
            let Some(track) = self
                .unfold(pattern, track)
                .and_then(|found| self.track(found))
            else {
                continue;
            };
            let taken = |id| tracks.iter().any(|earlier| earlier.channels.contains(id));
            if let Some(&id) = track.channels.iter().find(|id| taken(id)) {
                let message = format!("channel `{}` is in two tracks", self.scope.name(id));
                self.report.push(
                    Diagnostic::error("S033", track.span, message)
                        .label("another track of this pattern drives it already")
                        .hint("give each track `channels` of its own"),
                );
            }
            tracks.push(track);
        }
        tracks
    }

    /// Follows `play` to the steps.
    fn unfold(
        &mut self,
        pattern: &'a Spanned<String>,
        track: &'a raw::Track,
    ) -> Option<Unfolded<'a>> {
        let mut chain = vec![track];
        let mut names: Vec<&'a str> = vec![pattern.value.as_str()];
        let mut unfolded = loop {
            let track = chain[chain.len() - 1];
            let name = match (&track.steps, &track.play) {
                (Some(steps), None) => break Unfolded::plain(steps),
                (None, Some(name)) => name,
                (steps, _) => {
                    self.report
                        .follow_up(neither_or_both(track.span, steps.is_some()));
                    return None;
                }
            };
            if names.contains(&name.value.as_str()) {
                self.circle(name, &names);
                return None;
            }
            names.push(&name.value);
            self.written.find(name, self.report)?;
            match self.written.get(&name.value)?.pattern? {
                raw::Pattern::Steps(steps) => break Unfolded::plain(steps),
                raw::Pattern::Track(played) => chain.push(played),
                raw::Pattern::Tracks(several) if several.tracks.len() == 1 => {
                    chain.push(&several.tracks[0]);
                }
                raw::Pattern::Tracks(_) => {
                    self.report.push(many_tracks(name));
                    return None;
                }
            }
        };
        for track in chain.into_iter().rev() {
            unfolded = unfolded.set_by(track);
        }
        Some(unfolded)
    }

    /// Says that playing came round to `name` again; once, wherever in the circle it began.
    fn circle(&mut self, name: &Spanned<String>, names: &[&'a str]) {
        let round = names
            .iter()
            .position(|known| *known == name.value)
            .unwrap_or(0);
        let mut circle = names[round..].to_vec();
        circle.sort_unstable();
        if self.circles.contains(&circle) {
            return;
        }
        self.circles.push(circle);
        let way: Vec<_> = names[round..].iter().map(|name| short(name)).collect();
        let way = format!("{} → {}", way.join(" → "), short(&name.value));
        self.report.push(
            Diagnostic::error(
                "S040",
                name.span,
                format!("`{}` plays itself", short(&name.value)),
            )
            .label(format!("this closes the circle {way}"))
            .hint("give one of them steps of its own"),
        );
    }

    /// The track itself.
    pub(super) fn track(&mut self, raw: Unfolded<'_>) -> Option<Track> {
        let channels = match raw.channels {
            Some(names) => self.scope.list(&names.0, self.report),
            None => self.scope.all(),
        };
        if channels.is_empty() {
            if raw.channels.is_some_and(|names| names.0.is_empty()) {
                self.report.push(
                    Diagnostic::error("S034", raw.span, "a track that drives no channel")
                        .label("expected at least one channel")
                        .hint("leave `channels` out to drive them all"),
                );
            }
            return None;
        }
        let none = Spanned::new(Time(0), raw.span);
        let stagger = raw.stagger.unwrap_or(none);
        let each = raw.each.is_some_and(|each| each.value);
        let alone = each || stagger.value > Time(0);
        let roles = if alone { Roles::Alike } else { Roles::Own };
        let mut stage = Setting::new(self, &channels, roles);
        let mut steps = stage.steps(&raw.steps.value);
        // Steps that are nothing but jumps leave their light as it is.
        if let Some(last) = steps.last()
            && steps
                .iter()
                .all(|step| matches!(step.value, Step::Set { .. }))
        {
            steps.push(Spanned::new(Step::Stay, last.span));
        }
        if !stage.broken {
            duration::check(&steps, raw.steps.span, self.report);
        }
        let draw = raw.draw.map(|draw| self.draw(draw));
        let ahead = raw.ahead.unwrap_or(none);
        Some(Track {
            span: raw.span,
            channels,
            each,
            stagger,
            ahead,
            draw,
            steps,
        })
    }

    fn draw(&mut self, raw: &Spanned<raw::Draw>) -> Spanned<Draw> {
        let rounds = raw.value.rounds.unwrap_or(Spanned::new(8, raw.span));
        within(&rounds, 1, 256, self.report);
        let seed = raw.value.seed.map_or(1, |seed| seed.value);
        Spanned::new(
            Draw {
                seed,
                rounds: rounds.value as u16,
            },
            raw.span,
        )
    }
}

fn neither_or_both(span: Span, both: bool) -> Diagnostic {
    if both {
        return Diagnostic::error("S013", span, "a track with both `steps` and `play`")
            .label("expected one of the two")
            .hint("`play` takes the steps of another pattern");
    }
    Diagnostic::error("S012", span, "a track without steps")
        .label("needs `steps` or `play`")
        .hint("such as `{channels: quay, steps: [{to: 100 %, over: 2 s}]}`")
}

fn many_tracks(name: &Spanned<String>) -> Diagnostic {
    let message = format!(
        "`{}` has several tracks and cannot be played by one",
        name.value
    );
    Diagnostic::error("S041", name.span, message)
        .label("expected a pattern of a single track")
        .hint("put each of its tracks into a pattern of its own, and play those")
}
