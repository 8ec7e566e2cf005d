//! Steps: who goes where.

use super::patterns::Resolver;
use super::settings::within;
use crate::diagnostic::{Diagnostic, Span, Spanned};
use crate::spec::project::{ChannelId, Drawn, Ease, Step, Target, Times, Wave};
use crate::spec::raw;
use crate::spec::read::Named;
use crate::units::{Share, Time};

/// The most times a step is repeated.
const TIMES: u32 = 65_535;
/// The most branches to draw from.
const BRANCHES: usize = 32;
/// The most steps of all patterns together.
const STEPS: usize = 400_000;

/// Whether the steps may tell the channels of a track apart.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Roles {
    /// Each channel has a part of its own.
    Own,
    /// Every channel plays all steps, by itself or one after the other.
    Alike,
    /// The one channel that was drawn plays them.
    Picked,
}

/// Where steps are played.
pub(super) struct Stage<'r, 'a, 'c> {
    resolver: &'r mut Resolver<'a>,
    channels: &'c [ChannelId],
    roles: Roles,
    /// A step could not be read, so nothing can be said of the whole.
    pub broken: bool,
}

impl<'r, 'a, 'c> Stage<'r, 'a, 'c> {
    pub fn new(resolver: &'r mut Resolver<'a>, channels: &'c [ChannelId], roles: Roles) -> Self {
        Self {
            resolver,
            channels,
            roles,
            broken: false,
        }
    }

    pub fn steps(&mut self, raw: &raw::Steps) -> Vec<Spanned<Step>> {
        let mut steps = Vec::with_capacity(raw.len());
        for step in raw {
            self.resolver.steps += 1;
            if self.resolver.steps > STEPS {
                self.too_many(step.span);
                break;
            }
            self.step(step, &mut steps);
        }
        steps
    }

    fn say(&mut self, fault: Diagnostic) {
        self.resolver.report.push(fault);
    }

    /// After the first time it says nothing: the count stays over the limit.
    fn too_many(&mut self, span: Span) {
        self.broken = true;
        if self.resolver.steps == STEPS + 1 {
            self.say(
                Diagnostic::error("S044", span, format!("more than {STEPS} steps in all"))
                    .label("one step too many, played patterns counted each time")
                    .hint("use `repeat`"),
            );
        }
    }

    /// What one written step comes to: one step, or a jump and a hold.
    fn step(&mut self, raw: &Spanned<raw::Step>, steps: &mut Vec<Spanned<Step>>) {
        let step = match &raw.value {
            raw::Step::Broken => {
                self.broken = true;
                return;
            }
            raw::Step::To(to) => Step::To {
                targets: self.targets(&to.to),
                over: to.over,
                ease: to.ease.unwrap_or(Ease::Linear),
            },
            raw::Step::Set(set) => {
                let jump = Step::Set {
                    targets: self.targets(&set.set),
                };
                let Some(hold) = set.hold else {
                    return steps.push(Spanned::new(jump, raw.span));
                };
                steps.push(Spanned::new(jump, raw.span));
                Step::Hold(hold)
            }
            raw::Step::Hold(hold) => Step::Hold(hold.hold),
            raw::Step::Repeat(repeat) => {
                let times = self.times(repeat.repeat);
                Step::Repeat {
                    times,
                    steps: self.steps(&repeat.steps),
                }
            }
            raw::Step::Pick(pick) => self.pick(pick),
            raw::Step::Branch(branch) => self.branch(branch),
            raw::Step::Wave(wave) => Step::Wave(self.wave(wave)),
            raw::Step::Rhythm(rhythm) => self.rhythm(rhythm),
        };
        steps.push(Spanned::new(step, raw.span));
    }

    fn times(&mut self, count: Spanned<raw::Count>) -> Times {
        if let Times::Count(times) = count.value.0 {
            let times = Spanned::new(times, count.span);
            self.broken |= !within(&times, 1, TIMES, self.resolver.report);
        }
        count.value.0
    }

    fn pick(&mut self, raw: &raw::Pick) -> Step {
        let names = &raw.pick.value.0;
        let whole_track = matches!(names.as_slice(), [name] if name.value == "all");
        let channels = if whole_track {
            self.channels.to_vec()
        } else {
            self.resolver.scope.list(names, self.resolver.report)
        };
        if self.roles != Roles::Own {
            self.say(no_parts(raw.pick.span, self.roles));
        } else if names.is_empty() {
            self.say(
                Diagnostic::error("S034", raw.pick.span, "nothing to pick from")
                    .label("expected channels, groups or `all`")
                    .hint("such as `pick: all`"),
            );
        }
        for &channel in &channels {
            self.on_track(channel, raw.pick.span);
        }
        let mut stage = Stage::new(self.resolver, &channels, Roles::Picked);
        let steps = stage.steps(&raw.steps);
        self.broken |= stage.broken;
        Step::Pick { channels, steps }
    }

    fn branch(&mut self, raw: &raw::Branch) -> Step {
        if !(2..=BRANCHES).contains(&raw.branch.len()) {
            let message = format!("a choice among {} branches", raw.branch.len());
            self.say(
                Diagnostic::error("S016", raw.span, message)
                    .label(format!("expected 2 to {BRANCHES} lists of steps"))
                    .hint("such as `branch: [[{hold: 1 s}], [{to: 0 %, over: 1 s}]]`"),
            );
        }
        Step::Branch(raw.branch.iter().map(|steps| self.steps(steps)).collect())
    }

    fn wave(&mut self, raw: &raw::Wave) -> Wave {
        within(
            &raw.period,
            Time::from_millis(1),
            Time(24 * 3600 * 1_000_000_000),
            self.resolver.report,
        );
        let (low, high) = self.low_and_high(raw.low, raw.high, raw.span);
        Wave {
            shape: raw.wave,
            period: raw.period,
            low,
            high,
            spread: raw.spread.unwrap_or(Share(0.0)),
            cycles: raw
                .cycles
                .map_or(Times::Forever, |cycles| self.times(cycles)),
        }
    }

    fn rhythm(&mut self, raw: &raw::Rhythm) -> Step {
        let times = raw.rhythm.value.clone();
        if times.is_empty() || times.len() % 2 != 0 {
            let message = format!("a rhythm of {} times", times.len());
            self.say(
                Diagnostic::error("S016", raw.rhythm.span, message)
                    .label("expected pairs of times: on, off, on, off")
                    .hint("end with the time it stays dark"),
            );
        }
        let (low, high) = self.low_and_high(raw.low, raw.high, raw.span);
        Step::Rhythm { times, high, low }
    }

    fn low_and_high(
        &mut self,
        low: Option<Share>,
        high: Option<Share>,
        span: Span,
    ) -> (Share, Share) {
        let (low, high) = (low.unwrap_or(Share(0.0)), high.unwrap_or(Share(1.0)));
        if low > high {
            let message = format!("`low` ({low}) is above `high` ({high})");
            self.say(
                Diagnostic::error("S018", span, message)
                    .label("expected `low` to be the lower one")
                    .hint("exchange the two"),
            );
        }
        (low, high)
    }

    fn targets(&mut self, raw: &raw::Target) -> Vec<Target> {
        match raw {
            raw::Target::All(level) => vec![self.target(self.channels.to_vec(), level)],
            raw::Target::ByName(levels) => self.named_targets(levels),
        }
    }

    fn target(&self, channels: Vec<ChannelId>, level: &Spanned<Drawn<Share>>) -> Target {
        Target {
            channels,
            level: level.value,
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
    fn on_track(&mut self, channel: ChannelId, span: Span) {
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

fn no_parts(span: Span, roles: Roles) -> Diagnostic {
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
