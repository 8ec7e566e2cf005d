//! The stretches that steps come to, each at its moment.

use super::Stretches;
use crate::diagnostic::Span;
use crate::score::intent::{Path, Stretch};
use crate::spec::{Ease, Shape, Wave};
use crate::units::Share;

/// Levels this near are the same: no jump.
const SAME: f64 = 1e-9;
/// A part of a period this short is none: rounding of a phase.
const NO_PART: f64 = 1e-9;

impl Stretches<'_> {
    pub(super) fn still(&mut self, time: f64, step: Span) {
        self.stretch(time, Path::Still(self.share), step);
    }

    pub(super) fn fade(&mut self, to: Share, ease: Ease, over: f64, step: Span) {
        let from = self.share;
        self.stretch(over, Path::Fade { from, to, ease }, step);
    }

    /// The next part of a wave, up to where it turns, jumps or ends.
    pub(super) fn wave(&mut self, wave: &Wave, step: Span) -> Option<()> {
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

    pub(super) fn stretch(&mut self, time: f64, path: Path, step: Span) {
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
