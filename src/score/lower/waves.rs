//! Waves: the straight or smooth spans between their corners.

use super::Lowering;
use crate::diagnostic::Span;
use crate::score::fit::{self, Piece};
use crate::score::moves::{Known, Move, What, level_after};
use crate::score::program::{Length, Op};
use crate::score::shape::wave;
use crate::spec::{Shape, Times};
use crate::units::{Level, Share, Time};

impl Lowering<'_> {
    pub(super) fn wave(&mut self, what: &What, span: Span) {
        let What::Wave {
            shape,
            period,
            low,
            high,
            lag,
            cycles,
        } = what
        else {
            return;
        };
        let start = self.wave_starts(what)[0].1;
        let one = Move {
            what: What::Wave {
                shape: *shape,
                period: *period,
                low: *low,
                high: *high,
                lag: *lag,
                cycles: Times::Count(1),
            },
            span,
        };
        // A wave without a jump at its start is entered once, before its rounds.
        let end = level_after(std::slice::from_ref(&one), None, self.rules.top);
        if end.map(|known| known.level) == Some(start.level) {
            self.jump(start, span);
        }
        match cycles {
            Times::Forever => self.forever(&[one]),
            Times::Count(1) => self.period(what, span),
            Times::Count(n) => self.repeat(*n, &[one]),
        }
    }

    /// Where in the wave's period, as phases from its start, straight or smooth spans begin, and
    /// the level at the beginning of each.
    fn wave_starts(&self, what: &What) -> Vec<(f64, Known)> {
        let What::Wave {
            shape,
            lag,
            low,
            high,
            ..
        } = what
        else {
            return Vec::new();
        };
        let corners: &[f64] = match shape {
            Shape::Sine | Shape::Triangle | Shape::Square => &[0.0, 0.5],
            Shape::Saw => &[0.0],
        };
        // Phase runs from -lag to 1 - lag; a corner at phase c comes c + lag after the start.
        let mut starts: Vec<f64> = corners
            .iter()
            .map(|corner| (corner + lag).rem_euclid(1.0))
            .collect();
        if !starts.contains(&0.0) {
            starts.push(0.0);
        }
        starts.sort_by(f64::total_cmp);
        let level = |after: f64| {
            let height = wave(*shape, after - lag + 1e-9);
            Known::of(Share(low.0 + (high.0 - low.0) * height), self.rules.top)
        };
        starts
            .into_iter()
            .map(|after| (after, level(after)))
            .collect()
    }

    fn period(&mut self, what: &What, span: Span) {
        let What::Wave {
            shape,
            period,
            low,
            high,
            lag,
            ..
        } = what
        else {
            return;
        };
        let grid = self.rules.grid;
        let real = grid.ticks(*period);
        let begin = self.at;
        let top = f64::from(self.rules.top.0);
        let height = |phase: f64| top * (low.0 + (high.0 - low.0) * wave(*shape, phase));
        let starts = self.wave_starts(what);
        let name = match shape {
            Shape::Sine => "sine",
            Shape::Triangle => "triangle",
            Shape::Saw => "saw",
            Shape::Square => "square",
        };
        for (i, (after, start)) in starts.iter().enumerate() {
            self.jump(*start, span);
            let until = starts.get(i + 1).map_or(1.0, |next| next.0);
            let (from, to) = (begin + after * real, begin + until * real);
            let length = grid.length(from, to);
            if length.ticks.0 == 0 {
                self.too_short(Time(((until - after) * period.0 as f64) as u64), span);
                return;
            }
            let goal = Known::of(Share(height(until - lag - 1e-9) / top), self.rules.top);
            let end = goal.level;
            let cut = if *shape == Shape::Sine {
                let course = |tick: f64| height((after * real + tick) / real - lag);
                fit::pieces(course, length, start.level, end, self.rules.tolerance)
            } else {
                vec![Piece {
                    ticks: length.ticks,
                    to: end,
                }]
            };
            let what = format!("{name} of {period}");
            if *shape == Shape::Square {
                self.square_half(end, length, &what, span);
            } else {
                self.pieces(&cut, length.fraction, &what, span);
            }
            self.known = Some(goal);
        }
        self.at = begin + real;
    }

    /// Half a square wave: a hold, carried by the jump before it.
    fn square_half(&mut self, level: Level, length: Length, what: &str, span: Span) {
        if let Some((hold, note)) = self.open_jump() {
            *hold = length;
            note.push_str(&format!(", {what}"));
        } else {
            let note = format!("hold {}, {what}", self.percent(level));
            self.push(Op::Fade { length, to: level }, note, span);
        }
    }
}
