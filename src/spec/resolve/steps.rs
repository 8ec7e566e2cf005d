//! Steps: who goes where.

use super::patterns::Resolver;
use super::settings::within;
use super::targets::no_parts;
use crate::diagnostic::{Diagnostic, Span, Spanned};
use crate::spec::project::{ChannelId, Drawn, Ease, Step, Times, Wave};
use crate::spec::raw;
use crate::units::{Share, Time};

/// The most times a step is repeated.
const TIMES: u32 = 65_535;
/// The most branches to draw from.
const BRANCHES: usize = 32;
/// The most steps of all patterns together.
const STEPS: usize = 400_000;
/// As long as any other time may be.
const LONGEST_WAVE: Time = Time(168 * 3600 * 1_000_000_000);

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
pub(super) struct Setting<'r, 'a, 'c> {
    pub resolver: &'r mut Resolver<'a>,
    pub channels: &'c [ChannelId],
    pub roles: Roles,
    /// A step could not be read, so nothing can be said of the whole.
    pub broken: bool,
}

impl<'r, 'a, 'c> Setting<'r, 'a, 'c> {
    pub(super) fn new(
        resolver: &'r mut Resolver<'a>,
        channels: &'c [ChannelId],
        roles: Roles,
    ) -> Self {
        Self {
            resolver,
            channels,
            roles,
            broken: false,
        }
    }

    pub(super) fn steps(&mut self, raw: &raw::Steps) -> Vec<Spanned<Step>> {
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

    pub(super) fn say(&mut self, fault: Diagnostic) {
        self.resolver.report.push(fault);
    }

    /// The same, unless it follows from something within it that could not be read.
    fn say_of_all(&mut self, fault: Diagnostic) {
        self.resolver.report.follow_up(fault);
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
                pause(hold)
            }
            raw::Step::Hold(hold) => pause(hold.hold),
            raw::Step::Repeat(repeat) => self.repeat(repeat),
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

    /// A drawn number of rounds is one of several fixed ones, each as likely.
    fn repeat(&mut self, raw: &raw::Repeat) -> Step {
        let (low, high) = match raw.repeat.value {
            raw::Rounds::Fixed(times) => {
                let times = self.times(Spanned::new(raw::Count(times), raw.repeat.span));
                return Step::Repeat {
                    times,
                    steps: self.steps(&raw.steps),
                };
            }
            raw::Rounds::Between(low, high) => (low, high),
        };
        for end in [low, high] {
            self.times(Spanned::new(raw::Count(Times::Count(end)), raw.repeat.span));
        }
        if (high - low) as usize >= BRANCHES {
            let message = "duskloom cannot draw from so many numbers of rounds";
            self.say(
                Diagnostic::error("S016", raw.repeat.span, message)
                    .label(format!("expected a range of at most {BRANCHES} numbers"))
                    .hint(format!(
                        "such as `{low} .. {}`",
                        low.saturating_add(BRANCHES as u32 - 1)
                    )),
            );
            self.broken = true;
            return Step::Branch(Vec::new());
        }
        let steps = self.steps(&raw.steps);
        let rounds = |times| {
            let round = Step::Repeat {
                times: Times::Count(times),
                steps: steps.clone(),
            };
            vec![Spanned::new(round, raw.span)]
        };
        Step::Branch((low..=high).map(rounds).collect())
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
            self.say_of_all(
                Diagnostic::error("S034", raw.pick.span, "nothing to pick from")
                    .label("expected channels, groups or `all`")
                    .hint("such as `pick: all`"),
            );
        }
        for &channel in &channels {
            self.on_track(channel, raw.pick.span);
        }
        let mut stage = Setting::new(self.resolver, &channels, Roles::Picked);
        let steps = stage.steps(&raw.steps);
        self.broken |= stage.broken;
        Step::Pick { channels, steps }
    }

    fn branch(&mut self, raw: &raw::Branch) -> Step {
        if !(2..=BRANCHES).contains(&raw.branch.len()) {
            let message = format!("a choice among {} branches", raw.branch.len());
            self.say_of_all(
                Diagnostic::error("S016", raw.span, message)
                    .label(format!("expected 2 to {BRANCHES} lists of steps"))
                    .hint("such as `branch: [[{hold: 1 s}], [{to: 0 %, over: 1 s}]]`"),
            );
        }
        Step::Branch(raw.branch.iter().map(|steps| self.steps(steps)).collect())
    }

    fn wave(&mut self, raw: &raw::Wave) -> Wave {
        let period = raw.period.map(|period| match period {
            Drawn::Fixed(time) | Drawn::Between(time, _) => time,
        });
        if let Drawn::Between(low, high) = raw.period.value {
            let message = "duskloom cannot draw the period of a wave";
            self.say(
                Diagnostic::error("S015", raw.period.span, message)
                    .label("expected one time; a wave is cut into its pieces beforehand")
                    .hint(format!(
                        "`branch` draws one of several: `branch: [[{{wave: …, period: {low}, \
                         cycles: 1}}], [{{wave: …, period: {high}, cycles: 1}}]]`"
                    )),
            );
        }
        within(
            &period,
            Time::from_millis(1),
            LONGEST_WAVE,
            self.resolver.report,
        );
        let (low, high) = self.low_and_high(raw.low, raw.high, raw.span);
        Wave {
            shape: raw.wave,
            period,
            low,
            high,
            spread: raw.spread.unwrap_or(Share(0.0)),
            cycles: raw
                .cycles
                .map_or(Times::Forever, |cycles| self.times(cycles)),
        }
    }

    fn rhythm(&mut self, raw: &raw::Rhythm) -> Step {
        let times: Vec<Spanned<Time>> = raw
            .rhythm
            .value
            .iter()
            .map(|beat| beat.map(|beat| beat.0))
            .collect();
        if times.is_empty() || !times.len().is_multiple_of(2) {
            let message = format!("a rhythm of {} times", times.len());
            self.say_of_all(
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
        (self.resolver.lit(low), self.resolver.lit(high))
    }
}

fn pause(raw: raw::Pause) -> Step {
    match raw {
        raw::Pause::For(time) => Step::Hold(time),
        raw::Pause::Forever => Step::Stay,
    }
}
