//! What a single channel does: the steps of a track, seen from one channel.

use crate::diagnostic::{Span, Spanned};
use crate::spec::{ChannelId, Drawn, Ease, Shape, Step, Target, Times, Track, Wave};
use crate::units::{Level, Share, Time};

/// One thing a channel does, with the step it comes from.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Move {
    pub what: What,
    pub span: Span,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum What {
    Fade {
        to: Share,
        over: Time,
        ease: Ease,
    },
    Set(Share),
    Hold(Time),
    /// For ever.
    Stay,
    /// Two draws: a time, then a level.
    Random {
        jump: bool,
        /// A course was asked for that only levels and times known beforehand can have.
        eased: bool,
        over: (Time, Time),
        to: (Level, Level),
    },
    /// Two draws: a time, then one for nothing.
    Keep {
        over: (Time, Time),
    },
    Repeat {
        times: Times,
        body: Vec<Move>,
    },
    /// One draw.
    Branch(Vec<Vec<Move>>),
    /// `lag`: how far behind phase 0 it starts, as a share of the period.
    Wave {
        shape: Shape,
        period: Time,
        low: Share,
        high: Share,
        lag: f64,
        cycles: Times,
    },
}

/// Sees a track from one of its channels.
pub(super) struct View<'a> {
    pub track: &'a Track,
    pub channel: ChannelId,
    /// The highest level of the scale.
    pub top: Level,
}

impl View<'_> {
    /// The moves of the channel for the track's steps.
    pub(super) fn moves(&self) -> Vec<Move> {
        self.list(&self.track.steps, true)
    }

    /// `active` is false for a channel that waits while another one, picked at random, plays:
    /// it takes the same time and makes the same draws.
    fn list(&self, steps: &[Spanned<Step>], active: bool) -> Vec<Move> {
        let mut moves = Vec::new();
        for step in steps {
            self.step(step, active, &mut moves);
        }
        moves
    }

    fn step(&self, step: &Spanned<Step>, active: bool, moves: &mut Vec<Move>) {
        let mut push = |what| {
            moves.push(Move {
                what,
                span: step.span,
            })
        };
        match &step.value {
            Step::To {
                targets,
                over,
                ease,
            } => push(self.fade(targets, *over, *ease, active)),
            Step::Set { targets } => self.set(targets, active).into_iter().for_each(push),
            Step::Stay => push(What::Stay),
            Step::Hold(Drawn::Fixed(time)) => push(What::Hold(*time)),
            Step::Hold(Drawn::Between(low, high)) => push(What::Keep {
                over: (*low, *high),
            }),
            Step::Repeat { times, steps } => {
                push(What::Repeat {
                    times: *times,
                    body: self.list(steps, active),
                });
            }
            // Nothing to draw.
            Step::Pick { channels, steps } if channels.len() == 1 => {
                moves.extend(self.list(steps, active && channels[0] == self.channel));
            }
            Step::Pick { channels, steps } => {
                let branch =
                    |picked: &ChannelId| self.list(steps, active && *picked == self.channel);
                push(What::Branch(channels.iter().map(branch).collect()));
            }
            Step::Branch(branches) => {
                let branch = |steps: &Vec<_>| self.list(steps, active);
                push(What::Branch(branches.iter().map(branch).collect()));
            }
            Step::Wave(wave) if active => push(self.wave(wave)),
            Step::Wave(Wave { period, cycles, .. }) => push(match cycles {
                Times::Count(n) => What::Hold(Time(period.value.0 * u64::from(*n))),
                Times::Forever => What::Repeat {
                    times: Times::Forever,
                    body: vec![Move {
                        what: What::Hold(period.value),
                        span: step.span,
                    }],
                },
            }),
            Step::Rhythm { times, high, low } => {
                for (i, time) in times.iter().enumerate() {
                    let level = if i % 2 == 0 { *high } else { *low };
                    if active {
                        push(What::Set(level));
                    }
                    push(What::Hold(time.value));
                }
            }
        }
    }

    fn fade(&self, targets: &[Target], over: Drawn<Time>, ease: Ease, active: bool) -> What {
        let own = self.own(targets, active);
        match (own, self.draws(targets, over), ends(over)) {
            (None, false, (over, _)) => What::Hold(over),
            (None, true, over) => What::Keep { over },
            (Some(level), false, (over, _)) => What::Fade {
                to: ends(level).0,
                over,
                ease,
            },
            (Some(level), true, over) => What::Random {
                jump: false,
                eased: ease != Ease::Linear,
                over,
                to: self.levels(level),
            },
        }
    }

    /// `None`: others are set, and nothing is drawn for it.
    fn set(&self, targets: &[Target], active: bool) -> Option<What> {
        let instant = (Time(0), Time(0));
        let drawn = self.draws(targets, Drawn::Fixed(Time(0)));
        match (self.own(targets, active), drawn) {
            (None, false) => None,
            (None, true) => Some(What::Keep { over: instant }),
            (Some(level), false) => Some(What::Set(ends(level).0)),
            (Some(level), true) => Some(What::Random {
                jump: true,
                eased: false,
                over: instant,
                to: self.levels(level),
            }),
        }
    }

    fn wave(&self, wave: &Wave) -> What {
        let place = self
            .track
            .channels
            .iter()
            .position(|id| *id == self.channel)
            .unwrap_or(0);
        What::Wave {
            shape: wave.shape,
            period: wave.period.value,
            low: wave.low,
            high: wave.high,
            lag: (wave.spread.0 * place as f64).rem_euclid(1.0),
            cycles: wave.cycles,
        }
    }

    /// What the targets want of this channel.
    fn own(&self, targets: &[Target], active: bool) -> Option<Drawn<Share>> {
        targets
            .iter()
            .find(|target| active && target.channels.contains(&self.channel))
            .map(|target| target.level)
    }

    /// Whether this channel's player makes draws for the step. Channels that play together make
    /// the same draws, even those that need none for themselves.
    fn draws(&self, targets: &[Target], over: Drawn<Time>) -> bool {
        matches!(over, Drawn::Between(..))
            || targets.iter().any(|target| {
                matches!(target.level, Drawn::Between(..))
                    && (!self.track.each || target.channels.contains(&self.channel))
            })
    }

    fn level(&self, share: Share) -> Level {
        nearest(share, self.top)
    }

    fn levels(&self, drawn: Drawn<Share>) -> (Level, Level) {
        let (low, high) = ends(drawn);
        (self.level(low), self.level(high))
    }
}

/// A level that is known when compiling.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Known {
    pub level: Level,
    /// What was asked for and rounded to it, in 1/1024 of a level.
    fine: i32,
}

impl Known {
    /// The level nearest to a share of the scale.
    pub(super) fn of(share: Share, top: Level) -> Self {
        let real = share.0 * f64::from(top.0);
        Self {
            level: nearest(share, top),
            fine: (real * FINE).round() as i32,
        }
    }

    /// A level that was asked for as such.
    pub(super) fn exactly(level: Level) -> Self {
        Self {
            level,
            fine: i32::from(level.0) * FINE as i32,
        }
    }

    /// The level at which all ends are, if it is one.
    pub(super) fn common(ends: impl IntoIterator<Item = Option<Self>>) -> Option<Self> {
        let mut ends = ends.into_iter();
        let first = ends.next()??;
        ends.try_fold(first, |known, end| match end {
            Some(end) if end == known => Some(known),
            Some(end) if end.level == known.level => Some(Self::exactly(known.level)),
            _ => None,
        })
    }

    /// What was asked for, in levels.
    pub(super) fn real(self) -> f64 {
        f64::from(self.fine) / FINE
    }
}

const FINE: f64 = 1024.0;

/// The level nearest to a share of the scale.
pub(super) fn nearest(share: Share, top: Level) -> Level {
    Level((share.0 * f64::from(top.0)).round() as u8)
}

fn ends<T: Copy>(drawn: Drawn<T>) -> (T, T) {
    match drawn {
        Drawn::Fixed(value) => (value, value),
        Drawn::Between(low, high) => (low, high),
    }
}

/// How long the moves take, where that is fixed and finite.
pub(super) fn duration(moves: &[Move]) -> Option<u64> {
    moves.iter().try_fold(0_u64, |sum, Move { what, .. }| {
        let own = match what {
            What::Fade { over: Time(ns), .. } | What::Hold(Time(ns)) => *ns,
            What::Set(_) => 0,
            What::Repeat {
                times: Times::Count(n),
                body,
            } => duration(body)?.checked_mul(u64::from(*n))?,
            What::Wave {
                period,
                cycles: Times::Count(n),
                ..
            } => period.0 * u64::from(*n),
            _ => return None,
        };
        sum.checked_add(own)
    })
}

/// The level after the moves, where it is the same each time.
pub(super) fn level_after(moves: &[Move], before: Option<Known>, top: Level) -> Option<Known> {
    moves
        .iter()
        .fold(before, |level, Move { what, .. }| match what {
            What::Fade { to, .. } | What::Set(to) => Some(Known::of(*to, top)),
            What::Hold(_) | What::Stay | What::Keep { .. } => level,
            What::Random {
                to: (low, high), ..
            } => (low == high).then_some(Known::exactly(*low)),
            What::Repeat { body, .. } => level_after(body, level, top),
            What::Branch(branches) => {
                Known::common(branches.iter().map(|body| level_after(body, level, top)))
            }
            What::Wave {
                shape,
                low,
                high,
                lag,
                ..
            } => {
                // A whole number of periods ends where it began, but for the jump of a saw or square.
                let height = super::shape::wave(*shape, -lag - 1e-9);
                Some(Known::of(Share(low.0 + (high.0 - low.0) * height), top))
            }
        })
}

/// Whether the course of the moves depends on the level before them in a way that must be known
/// when compiling: an eased fade comes before anything else settles the level.
pub(super) fn needs_level(moves: &[Move]) -> bool {
    first_use(moves) == Use::Needs
}

#[derive(PartialEq)]
enum Use {
    Needs,
    Settles,
    Neither,
}

fn first_use(moves: &[Move]) -> Use {
    for Move { what, .. } in moves {
        let found = match what {
            What::Fade {
                ease: Ease::Linear, ..
            }
            | What::Set(_)
            | What::Wave { .. } => Use::Settles,
            What::Fade { .. } => Use::Needs,
            What::Hold(_) | What::Stay | What::Keep { .. } => Use::Neither,
            What::Random { .. } => Use::Settles,
            What::Repeat { body, .. } => first_use(body),
            What::Branch(branches) => {
                let uses: Vec<_> = branches.iter().map(|body| first_use(body)).collect();
                if uses.contains(&Use::Needs) {
                    Use::Needs
                } else if uses.iter().all(|one| *one == Use::Settles) {
                    Use::Settles
                } else {
                    Use::Neither
                }
            }
        };
        if found != Use::Neither {
            return found;
        }
    }
    Use::Neither
}
