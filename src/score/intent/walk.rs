//! Walks through a track's steps as one of its channels sees them.

use std::collections::VecDeque;

use super::{Moment, Path, Stretch};
use crate::diagnostic::{Span, Spanned};
use crate::player;
use crate::spec::{self, ChannelId, Ease, Shape, Step, Target, Times, Track, Wave};
use crate::units::{Level, Share};

/// Levels this near are the same: no jump.
const SAME: f64 = 1e-9;
/// A part of a period this short is none: rounding of a phase.
const NO_PART: f64 = 1e-9;

/// What a channel does, stretch by stretch.
#[derive(Debug, Clone)]
pub struct Course<'a> {
    track: Option<&'a Track>,
    channel: ChannelId,
    top: f64,
    /// Nanoseconds.
    tick: f64,
    drawn: std::slice::Iter<'a, player::Drawn>,
    /// The innermost list last.
    lists: Vec<List<'a>>,
    /// Ready to be handed out.
    ready: VecDeque<Stretch>,
    now: Moment,
    /// The level now.
    share: Share,
    /// What the stretch before ended at, if there was one.
    ended: Option<Share>,
}

/// A list of steps that is being played.
#[derive(Debug, Clone)]
struct List<'a> {
    items: Items<'a>,
    next: usize,
    /// Rounds still to come after this one; `None`: for ever.
    rounds: Option<u32>,
    /// Whether this channel plays it, or only waits.
    active: bool,
    /// Of a wave: the phase now, and when it began.
    wave: Option<(f64, Moment)>,
}

#[derive(Debug, Clone, Copy)]
enum Items<'a> {
    Steps(&'a [Spanned<Step>]),
    /// One period in every round.
    Wave(&'a Wave, Span),
}

impl<'a> Course<'a> {
    /// The course of a channel that nothing drives.
    pub(super) fn dark() -> Self {
        Self {
            track: None,
            channel: ChannelId(0),
            top: 1.0,
            tick: 1.0,
            drawn: [].iter(),
            lists: Vec::new(),
            ready: VecDeque::new(),
            now: Moment(0.0),
            share: Share(0.0),
            ended: None,
        }
    }

    /// The course of one of the track's channels. `tick` in nanoseconds.
    pub(super) fn new(
        track: &'a Track,
        channel: ChannelId,
        top: Level,
        tick: f64,
        drawn: &'a [player::Drawn],
    ) -> Self {
        let mut course = Self {
            track: Some(track),
            channel,
            top: f64::from(top.0),
            tick,
            drawn: drawn.iter(),
            ..Self::dark()
        };
        let behind = track.stagger.value.0 as f64 * course.place() as f64;
        let ahead = track.ahead.value.0 as f64;
        let (steps, endless) = innermost(&track.steps);
        course.start(track);
        if endless || draws(steps) {
            course.now = Moment(-ahead);
            if behind > 0.0 {
                course.still(behind, track.stagger.span);
            }
            return course;
        }
        let (period, last) = course.round();
        course.start(track);
        course.share = last;
        course.ended = Some(last);
        course.now = Moment(-(ahead - behind).rem_euclid(period));
        course
    }

    fn start(&mut self, track: &'a Track) {
        let (steps, _) = innermost(&track.steps);
        let items = match steps {
            [
                Spanned {
                    value: Step::Wave(wave),
                    span,
                },
            ] => Items::Wave(wave, *span),
            steps => Items::Steps(steps),
        };
        self.lists = vec![List {
            items,
            next: 0,
            rounds: None,
            active: true,
            wave: None,
        }];
        self.now = Moment(0.0);
        self.share = Share(0.0);
        self.ended = None;
    }

    /// How long a round takes, and the level after it: the one before it where nothing sets it.
    fn round(&mut self) -> (f64, Share) {
        self.lists[0].rounds = Some(0);
        while !self.lists.is_empty() {
            self.play();
        }
        self.ready.clear();
        (self.now.0, self.share)
    }

    fn place(&self) -> usize {
        let channels = self.track.iter().flat_map(|track| &track.channels);
        channels
            .take_while(|channel| **channel != self.channel)
            .count()
    }

    /// Plays the next step.
    fn play(&mut self) -> Option<()> {
        let list = self.lists.last_mut()?;
        let active = list.active;
        match list.items {
            Items::Steps(steps) => {
                if let Some(step) = steps.get(list.next) {
                    list.next += 1;
                    return self.step(step, active);
                }
            }
            Items::Wave(wave, span) => return self.wave(wave, span),
        }
        match &mut list.rounds {
            Some(0) => {
                self.lists.pop();
            }
            Some(rounds) => {
                *rounds -= 1;
                list.next = 0;
            }
            None => list.next = 0,
        }
        Some(())
    }

    /// `None`: the draws have come to their end.
    fn step(&mut self, step: &'a Spanned<Step>, active: bool) -> Option<()> {
        let span = step.span;
        match &step.value {
            Step::To {
                targets,
                over,
                ease,
            } => {
                let own = active.then(|| self.own(targets)).flatten();
                let drawing = varies(over) || targets.iter().any(|target| varies(&target.level));
                let (over, to) = if drawing {
                    self.timed_draw(own.is_some())?
                } else {
                    (certain(over).0 as f64, own.map(certain))
                };
                match to {
                    Some(to) => self.fade(to, *ease, over, span),
                    None => self.still(over, span),
                }
            }
            Step::Set { targets } => {
                let own = active.then(|| self.own(targets)).flatten();
                let to = if targets.iter().any(|target| varies(&target.level)) {
                    self.timed_draw(own.is_some())?.1
                } else {
                    own.map(certain)
                };
                self.share = to.unwrap_or(self.share);
            }
            Step::Hold(time) => {
                let time = match time {
                    spec::Drawn::Fixed(time) => time.0 as f64,
                    spec::Drawn::Between(..) => self.timed_draw(false)?.0,
                };
                self.still(time, span);
            }
            Step::Repeat { times, steps } => self.enter(Items::Steps(steps), *times, active),
            Step::Pick { channels, steps } => {
                let picked = match channels.as_slice() {
                    [only] => *only,
                    several => several[self.choice()?],
                };
                let active = active && picked == self.channel;
                self.enter(Items::Steps(steps), Times::Count(1), active);
            }
            Step::Branch(branches) => {
                let steps = &branches[self.choice()?];
                self.enter(Items::Steps(steps), Times::Count(1), active);
            }
            Step::Wave(wave) => self.enter(Items::Wave(wave, span), wave.cycles, active),
            Step::Rhythm { times, high, low } => {
                for (time, share) in times.iter().zip([high, low].into_iter().cycle()) {
                    if active {
                        self.share = *share;
                    }
                    self.still(time.value.0 as f64, span);
                }
            }
        }
        Some(())
    }

    fn enter(&mut self, items: Items<'a>, times: Times, active: bool) {
        let rounds = match times {
            Times::Count(0) => return,
            Times::Count(times) => Some(times - 1),
            Times::Forever => None,
        };
        self.lists.push(List {
            items,
            next: 0,
            rounds,
            active,
            wave: None,
        });
    }

    /// The level that one of the targets gives this channel.
    fn own<'t>(&self, targets: &'t [Target]) -> Option<&'t spec::Drawn<Share>> {
        let own = |target: &&Target| target.channels.contains(&self.channel);
        targets.iter().find(own).map(|target| &target.level)
    }

    /// What was drawn for a step: how long it takes, and, for a channel that moves, the level.
    fn timed_draw(&mut self, moves: bool) -> Option<(f64, Option<Share>)> {
        let (ticks, to) = match (self.drawn.next()?, moves) {
            (player::Drawn::Random(ticks, level), true) => {
                (ticks, Some(Share(f64::from(level.0) / self.top)))
            }
            (player::Drawn::Keep(ticks), false) => (ticks, None),
            (other, _) => panic!("{other:?} was drawn where the steps draw otherwise"),
        };
        Some((f64::from(ticks.0) * self.tick, to))
    }

    fn choice(&mut self) -> Option<usize> {
        match self.drawn.next()? {
            player::Drawn::Branch(choice) => Some(usize::from(*choice)),
            other => panic!("{other:?} was drawn where the steps choose"),
        }
    }

    fn still(&mut self, time: f64, step: Span) {
        self.stretch(time, Path::Still(self.share), step);
    }

    fn fade(&mut self, to: Share, ease: Ease, over: f64, step: Span) {
        let from = self.share;
        self.stretch(over, Path::Fade { from, to, ease }, step);
    }

    /// The next part of a wave, up to where it turns, jumps or ends.
    fn wave(&mut self, wave: &Wave, step: Span) -> Option<()> {
        let entry = (-wave.spread.0 * self.place() as f64).rem_euclid(1.0);
        let now = self.now;
        let list = self.lists.last_mut()?;
        let active = list.active;
        let end = list
            .rounds
            .map_or(f64::INFINITY, |rounds| entry + 1.0 + f64::from(rounds));
        let (from, begin) = *list.wave.get_or_insert((entry, now));
        let distance = match wave.shape {
            _ if !active => 1.0,
            Shape::Saw => 1.0,
            Shape::Sine | Shape::Triangle | Shape::Square => 0.5,
        };
        if end - from < NO_PART {
            self.lists.pop();
            return Some(());
        }
        // A phase that rounding left just before a corner is the corner.
        let corner = ((from + NO_PART) / distance).floor() * distance + distance;
        let until = corner.min(end);
        list.wave = Some((until, begin));
        let period = wave.period.value.0 as f64;
        let time = begin.0 + (until - entry) * period - now.0;
        let whole = (from + NO_PART).floor();
        let path = Path::Wave {
            shape: wave.shape,
            low: wave.low,
            high: wave.high,
            phases: (from - whole, until - whole),
        };
        self.stretch(
            time,
            if active {
                path
            } else {
                Path::Still(self.share)
            },
            step,
        );
        Some(())
    }

    fn stretch(&mut self, time: f64, path: Path, step: Span) {
        if time == 0.0 {
            return;
        }
        let mut stretch = Stretch {
            begin: self.now,
            end: self.now.later(time),
            path,
            jump: false,
            step,
        };
        let first = stretch.first().0;
        stretch.jump = self
            .ended
            .is_some_and(|before| (first - before.0).abs() > SAME);
        self.now = stretch.end;
        self.share = stretch.last();
        self.ended = Some(self.share);
        self.ready.push_back(stretch);
    }
}

impl Iterator for Course<'_> {
    type Item = Stretch;

    /// The next stretch that ends after the pattern's start.
    fn next(&mut self) -> Option<Stretch> {
        if self.track.is_none() {
            self.stretch(
                f64::INFINITY - self.now.0,
                Path::Still(self.share),
                Span::default(),
            );
            return self.ready.pop_front();
        }
        loop {
            match self.ready.pop_front() {
                Some(stretch) if stretch.end > Moment(0.0) => return Some(stretch),
                Some(_) => {}
                None => self.play()?,
            }
        }
    }
}

/// The steps of the loop, where the steps are nothing but a loop, and whether what they are never
/// ends by itself.
fn innermost(steps: &[Spanned<Step>]) -> (&[Spanned<Step>], bool) {
    match steps {
        [step] => match &step.value {
            Step::Repeat {
                times: Times::Forever,
                steps,
            } => innermost(steps),
            Step::Wave(_) => (steps, false),
            _ => (steps, endless(steps)),
        },
        _ => (steps, endless(steps)),
    }
}

fn endless(steps: &[Spanned<Step>]) -> bool {
    steps.iter().any(|step| match &step.value {
        Step::Repeat { times, steps } => *times == Times::Forever || endless(steps),
        Step::Wave(wave) => wave.cycles == Times::Forever,
        Step::Pick { steps, .. } => endless(steps),
        Step::Branch(branches) => branches.iter().any(|steps| endless(steps)),
        Step::To { .. } | Step::Set { .. } | Step::Hold(_) | Step::Rhythm { .. } => false,
    })
}

/// Whether the chip draws anything for the steps.
fn draws(steps: &[Spanned<Step>]) -> bool {
    steps.iter().any(|step| match &step.value {
        Step::To { targets, over, .. } => {
            varies(over) || targets.iter().any(|target| varies(&target.level))
        }
        Step::Set { targets } => targets.iter().any(|target| varies(&target.level)),
        Step::Hold(time) => varies(time),
        Step::Repeat { steps, .. } => draws(steps),
        Step::Pick { channels, steps } => channels.len() > 1 || draws(steps),
        Step::Branch(_) => true,
        Step::Wave(_) | Step::Rhythm { .. } => false,
    })
}

fn varies<T>(value: &spec::Drawn<T>) -> bool {
    matches!(value, spec::Drawn::Between(..))
}

/// A value that is not drawn.
fn certain<T: Copy>(value: &spec::Drawn<T>) -> T {
    match value {
        spec::Drawn::Fixed(value) | spec::Drawn::Between(value, _) => *value,
    }
}
