//! Walks through a track's steps as one of its channels sees them.

mod path;
mod play;
mod steps;

use std::collections::VecDeque;

use super::{Moment, Path, Stretch};
use crate::diagnostic::{Span, Spanned};
use crate::score::Outcome;
use crate::spec::{ChannelId, Step, Track, Wave};
use crate::units::{Level, Share};
use steps::{draws, innermost};

/// What a channel does, stretch by stretch.
#[derive(Debug, Clone)]
pub struct Stretches<'a> {
    track: Option<&'a Track>,
    channel: ChannelId,
    top: f64,
    /// Nanoseconds.
    tick: f64,
    drawn: std::slice::Iter<'a, Outcome>,
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

impl<'a> Stretches<'a> {
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
        drawn: &'a [Outcome],
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
            if let Some(end) = course.end(steps, true, None).filter(|_| !endless) {
                course.share = end;
                course.ended = Some(end);
            }
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
}

impl Iterator for Stretches<'_> {
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
