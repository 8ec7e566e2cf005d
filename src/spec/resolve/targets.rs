//! Targets: which of a track's channels go to which level.

use super::steps::{Roles, Setting};
use crate::diagnostic::{Diagnostic, Span, Spanned};
use crate::spec::project::{ChannelId, Drawn, Target};
use crate::spec::raw;
use crate::spec::read::Named;
use crate::units::Share;

impl Setting<'_, '_, '_> {
    /// Where a fade or jump sends the channels of the track.
    pub(super) fn targets(&mut self, raw: &raw::Target) -> Vec<Target> {
        match raw {
            raw::Target::All(level) => vec![self.target(self.channels.to_vec(), level)],
            raw::Target::ByName(levels) => self.named_targets(levels),
        }
    }

    fn target(&self, channels: Vec<ChannelId>, level: &Spanned<Drawn<Share>>) -> Target {
        let lit = |share| self.resolver.lit(share);
        Target {
            channels,
            level: match level.value {
                Drawn::Fixed(share) => Drawn::Fixed(lit(share)),
                Drawn::Between(low, high) => Drawn::Between(lit(low), lit(high)),
            },
            span: level.span,
        }
    }

    /// Levels by name: a channel's own name counts before its group's, and `rest` is what is left.
    fn named_targets(&mut self, raw: &Named<Spanned<Drawn<Share>>>) -> Vec<Target> {
        if self.roles != Roles::Own {
            self.say(no_parts(raw.span, self.roles));
            return Vec::new();
        }
        if raw.entries.is_empty() {
            self.say(
                Diagnostic::error("S034", raw.span, "a step for no channel")
                    .label("expected channels and their levels")
                    .hint("such as `{quay: 40 %, rest: 0 %}`"),
            );
        }
        let members: Vec<_> = raw
            .entries
            .iter()
            .map(|(name, _)| self.members(name))
            .collect();
        let mut entry_of: Vec<Option<usize>> = vec![None; self.channels.len()];
        let is_group = |name: &Spanned<String>| self.resolver.scope.channel(&name.value).is_none();
        let mut overlaps = Vec::new();
        for groups in [true, false] {
            for (entry, (name, _)) in raw.entries.iter().enumerate() {
                if is_group(name) != groups {
                    continue;
                }
                for (place, channel) in self.channels.iter().enumerate() {
                    if !members[entry].contains(channel) {
                        continue;
                    }
                    if groups && entry_of[place].is_some() {
                        overlaps.push((name, *channel));
                    }
                    entry_of[place] = Some(entry);
                }
            }
        }
        for (name, channel) in overlaps {
            let channel = self.resolver.scope.name(channel).to_string();
            let message = format!("`{}` gives `{channel}` a second level", name.value);
            self.say(
                Diagnostic::error("S034", name.span, message)
                    .label("this channel has a level from another group")
                    .hint(format!(
                        "name `{channel}` itself, or use groups that do not overlap"
                    )),
            );
        }
        self.fill_rest(raw, &mut entry_of);
        let of_entry = |entry: usize| -> Vec<ChannelId> {
            let places = self.channels.iter().zip(&entry_of);
            places
                .filter(|(_, of)| **of == Some(entry))
                .map(|(channel, _)| *channel)
                .collect()
        };
        let entries = raw.entries.iter().enumerate();
        entries
            .filter_map(|(entry, (_, level))| Some((of_entry(entry), level.as_ref()?)))
            .filter(|(channels, _)| !channels.is_empty())
            .map(|(channels, level)| self.target(channels, level))
            .collect()
    }

    fn fill_rest(&mut self, raw: &Named<Spanned<Drawn<Share>>>, entry_of: &mut [Option<usize>]) {
        let rest = raw
            .entries
            .iter()
            .position(|(name, _)| name.value == "rest");
        let Some(rest) = rest else { return };
        let free: Vec<_> = (0..entry_of.len())
            .filter(|&place| entry_of[place].is_none())
            .collect();
        if free.is_empty() {
            self.say(
                Diagnostic::error(
                    "S035",
                    raw.entries[rest].0.span,
                    "nothing is left for `rest`",
                )
                .label("every channel of this track is named already")
                .hint("remove `rest`"),
            );
        }
        for place in free {
            entry_of[place] = Some(rest);
        }
    }

    /// The channels of this track that a name in a target stands for.
    fn members(&mut self, name: &Spanned<String>) -> Vec<ChannelId> {
        if name.value == "rest" {
            return Vec::new();
        }
        let Some(found) = self.resolver.scope.find(name, self.resolver.report) else {
            return Vec::new();
        };
        let here: Vec<_> = found
            .iter()
            .copied()
            .filter(|channel| self.channels.contains(channel))
            .collect();
        if here.is_empty() {
            for &channel in found.iter().take(1) {
                self.on_track(channel, name.span);
            }
        }
        here
    }

    /// Says so when a channel is not driven by this track.
    pub(super) fn on_track(&mut self, channel: ChannelId, span: Span) {
        if self.channels.contains(&channel) {
            return;
        }
        let names: Vec<_> = self
            .channels
            .iter()
            .map(|id| self.resolver.scope.name(*id))
            .collect();
        let label = format!("this track drives {}", names.join(", "));
        let message = format!(
            "`{}` is not in this track",
            self.resolver.scope.name(channel)
        );
        self.say(
            Diagnostic::error("S036", span, message)
                .label(label)
                .hint("add it to the track's `channels`, or give it a track of its own"),
        );
    }
}

/// A step names channels where it cannot.
pub(super) fn no_parts(span: Span, roles: Roles) -> Diagnostic {
    let (message, hint) = match roles {
        Roles::Picked => (
            "the channel that was picked plays these steps alone",
            "give one level: it goes to the picked channel",
        ),
        Roles::Own | Roles::Alike => (
            "with `each` or `stagger` every channel plays the same steps",
            "give one level for all, or take `each` and `stagger` away",
        ),
    };
    Diagnostic::error("S036", span, message)
        .label("channels cannot be told apart here")
        .hint(hint)
}
