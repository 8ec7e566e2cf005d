//! Channels and groups, and what their names mean.

use super::CHANNELS;
use crate::diagnostic::{Diagnostic, Report, Span, Spanned, short};
use crate::spec::project::{Active, Channel, ChannelDrive, ChannelId};
use crate::spec::raw;
use crate::spec::read::{check_name, nearest};
use crate::units::Share;

/// All names that stand for channels.
pub(super) struct Scope {
    channels: Vec<String>,
    groups: Vec<Group>,
}

struct Group {
    name: Spanned<String>,
    members: Vec<ChannelId>,
}

/// The channels as written, and the scope that their names and groups make.
pub(super) fn channels(raw: &raw::Project, report: &mut Report) -> Option<(Vec<Channel>, Scope)> {
    let mut channels = match raw.channels.0.as_ref()? {
        raw::Channels::Count(count) => counted(count, report)?,
        raw::Channels::Names(names) => {
            let named = names
                .value
                .iter()
                .map(|name| name.clone().map(|name| name.0));
            let channels = named.map(plain).collect();
            within_limits(channels, names.span, report)?
        }
        raw::Channels::Settings(settings) => {
            let channels = settings.entries.iter().map(|(name, settings)| {
                check_name(&name.value, name.span, report);
                channel(name.clone(), settings.as_ref().map(|settings| &settings.0))
            });
            let channels = channels.collect();
            within_limits(channels, settings.span, report)?
        }
    };
    unique(&channels, report);
    let groups = groups(raw, &mut channels, report);
    let names = channels
        .iter()
        .map(|channel| channel.name.value.clone())
        .collect();
    Some((
        channels,
        Scope {
            channels: names,
            groups,
        },
    ))
}

fn counted(count: &Spanned<u32>, report: &mut Report) -> Option<Vec<Channel>> {
    if !(1..=CHANNELS as u32).contains(&count.value) {
        report.push(wrong_count(count.span));
        return None;
    }
    Some(
        (1..=count.value)
            .map(|n| plain(Spanned::new(format!("ch{n}"), count.span)))
            .collect(),
    )
}

fn within_limits(channels: Vec<Channel>, span: Span, report: &mut Report) -> Option<Vec<Channel>> {
    if channels.is_empty() || channels.len() > CHANNELS {
        report.follow_up(wrong_count(span));
        return None;
    }
    Some(channels)
}

fn wrong_count(span: Span) -> Diagnostic {
    Diagnostic::error("S044", span, "this many channels cannot be driven")
        .label(format!("expected 1 to {CHANNELS} channels"))
        .hint("strings that always shine alike can share a channel")
}

/// A channel with nothing but a name.
fn plain(name: Spanned<String>) -> Channel {
    channel(name, None)
}

fn channel(name: Spanned<String>, settings: Option<&raw::Channel>) -> Channel {
    let at = |value| Spanned::new(value, name.span);
    let groups = settings.and_then(|settings| settings.group.as_ref());
    Channel {
        pin: settings
            .and_then(|settings| settings.pin.clone())
            .map(|pin| pin.map(|pin| pin.0)),
        groups: groups.map(|groups| groups.0.clone()).unwrap_or_default(),
        trim: settings
            .and_then(|settings| settings.trim)
            .unwrap_or(at(1.0).map(Share)),
        active: settings
            .and_then(|settings| settings.active)
            .unwrap_or(Spanned::new(Active::High, name.span)),
        drive: settings
            .and_then(|settings| settings.drive)
            .unwrap_or(Spanned::new(ChannelDrive::Dimmed, name.span)),
        light: settings
            .and_then(|settings| settings.light)
            .map(|light| light.map(|light| light.0)),
        name,
    }
}

fn unique(channels: &[Channel], report: &mut Report) {
    for (index, channel) in channels.iter().enumerate() {
        if channels[..index]
            .iter()
            .any(|earlier| earlier.name.value == channel.name.value)
        {
            report.push(taken(&channel.name, "a channel"));
        }
    }
}

fn taken(name: &Spanned<String>, by: &str) -> Diagnostic {
    Diagnostic::error(
        "S030",
        name.span,
        format!("`{}` is already {by}", short(&name.value)),
    )
    .label("a name stands for one thing")
    .hint("choose another name")
}

/// The groups of all channels, from their `group` and from `groups`. The latter are noted with the
/// channels too.
fn groups(raw: &raw::Project, channels: &mut [Channel], report: &mut Report) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for (index, channel) in channels.iter().enumerate() {
        let id = ChannelId(index as u8);
        for name in &channel.groups {
            match groups
                .iter_mut()
                .find(|group| group.name.value == name.value)
            {
                Some(group) if group.members.contains(&id) => report.push(twice(name)),
                Some(group) => group.members.push(id),
                None if !check_name(&name.value, name.span, report) => {}
                None if channels
                    .iter()
                    .any(|channel| channel.name.value == name.value) =>
                {
                    report.push(taken(name, "a channel"));
                }
                None => groups.push(Group {
                    name: name.clone(),
                    members: vec![id],
                }),
            }
        }
    }
    for (name, listed) in raw.groups.iter().flat_map(|groups| &groups.entries) {
        if groups.iter().any(|group| group.name.value == name.value) {
            report.push(taken(name, "a group"));
        } else if channels
            .iter()
            .any(|channel| channel.name.value == name.value)
        {
            report.push(taken(name, "a channel"));
        } else if check_name(&name.value, name.span, report) {
            let members = match listed {
                Some(listed) => members(name, &listed.0, channels, report),
                None => Vec::new(),
            };
            groups.push(Group {
                name: name.clone(),
                members,
            });
        }
    }
    groups
}

fn members(
    group: &Spanned<String>,
    listed: &[Spanned<String>],
    channels: &mut [Channel],
    report: &mut Report,
) -> Vec<ChannelId> {
    let mut members = Vec::new();
    for name in listed {
        match channels
            .iter()
            .position(|channel| channel.name.value == name.value)
        {
            None => {
                let known = channels.iter().map(|channel| channel.name.value.as_str());
                report.push(unknown(name, "channel", known));
            }
            Some(index) if members.contains(&ChannelId(index as u8)) => report.push(twice(name)),
            Some(index) => {
                channels[index].groups.push(group.clone());
                members.push(ChannelId(index as u8));
            }
        }
    }
    if listed.is_empty() {
        report.push(
            Diagnostic::error(
                "S034",
                group.span,
                format!("group `{}` is empty", group.value),
            )
            .label("expected at least one channel"),
        );
    }
    members
}

fn twice(name: &Spanned<String>) -> Diagnostic {
    Diagnostic::error(
        "S034",
        name.span,
        format!("`{}` is named twice", short(&name.value)),
    )
    .label("it is in here already")
    .hint("remove one of the two")
}

fn unknown<'n>(
    name: &Spanned<String>,
    what: &str,
    known: impl Iterator<Item = &'n str> + Clone,
) -> Diagnostic {
    let meant = nearest(&name.value, known.clone());
    let listed: Vec<_> = known.take(24).collect();
    Diagnostic::error(
        "S031",
        name.span,
        format!("there is no {what} `{}`", short(&name.value)),
    )
    .label(format!("known: {}", listed.join(", ")))
    .maybe_hint(meant.map(|meant| format!("did you mean `{meant}`?")))
}

impl Scope {
    /// Every channel, in order.
    pub(super) fn all(&self) -> Vec<ChannelId> {
        (0..self.channels.len())
            .map(|index| ChannelId(index as u8))
            .collect()
    }

    pub(super) fn name(&self, channel: ChannelId) -> &str {
        &self.channels[channel.0 as usize]
    }

    /// The channel of this very name.
    pub(super) fn channel(&self, name: &str) -> Option<ChannelId> {
        self.channels
            .iter()
            .position(|known| known == name)
            .map(|index| ChannelId(index as u8))
    }

    /// The channels that a channel's or group's name, or `all`, stands for. If it stands for none,
    /// the report says so.
    pub(super) fn find(
        &self,
        name: &Spanned<String>,
        report: &mut Report,
    ) -> Option<Vec<ChannelId>> {
        if name.value == "all" {
            return Some(self.all());
        }
        if let Some(channel) = self.channel(&name.value) {
            return Some(vec![channel]);
        }
        let group = self
            .groups
            .iter()
            .find(|group| group.name.value == name.value);
        if group.is_none() {
            let groups = self.groups.iter().map(|group| group.name.value.as_str());
            let known = self.channels.iter().map(String::as_str).chain(groups);
            report.push(unknown(name, "channel or group", known));
        }
        group.map(|group| group.members.clone())
    }

    /// The channels of a list of names, in its order; each may come up once.
    pub(super) fn list(&self, names: &[Spanned<String>], report: &mut Report) -> Vec<ChannelId> {
        let mut channels = Vec::new();
        for name in names {
            let found = self.find(name, report).unwrap_or_default();
            if found.iter().any(|channel| channels.contains(channel)) {
                report.push(twice(name));
            }
            channels.extend(
                found
                    .into_iter()
                    .filter(|id| !channels.contains(id))
                    .collect::<Vec<_>>(),
            );
        }
        channels
    }
}
