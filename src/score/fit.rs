//! Straight pieces for a curved course.
//!
//! The player only draws straight lines between whole levels. A curved course is cut into as few
//! as stay within a tolerance, by keeping for each piece the cone of slopes that meets every
//! sample so far, and ending it where the cone closes.

use crate::score::program::{Length, SLOW_UNIT};
use crate::units::{Level, Ticks};

/// One straight piece: go to `to` in `ticks`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Piece {
    pub ticks: Ticks,
    pub to: Level,
}

/// A course of so many ticks is not looked at in each. Between two of a thousand samples, half a sine
/// of 255 levels bends less than a thousandth of a level from a straight line.
const SAMPLES: u32 = 1 << 16;

/// Cuts `course` (a level, as a real number, by ticks from 0 to `length`) into pieces that start
/// exactly at `from`, end exactly at `to`, and stay within `tolerance` levels at all whole ticks
/// between. They come to the whole ticks of `length`; the last one is meant to take the rest too.
///
/// The course is to go one way, from near `from` to near `to`. The pieces do not turn back either,
/// and never pass `to`.
///
/// # Panics
/// When `length` is less than a tick.
pub(super) fn pieces(
    course: impl Fn(f64) -> f64,
    length: Length,
    from: Level,
    to: Level,
    tolerance: f64,
) -> Vec<Piece> {
    let ticks = length.ticks;
    assert!(ticks.0 > 0, "a fade takes time");
    let end = f64::from(ticks.0) + f64::from(length.fraction) / 65536.0;
    let mut pieces = Vec::new();
    let mut start = 0;
    let mut level = from;
    let whole = Whole {
        last: ticks.0,
        end,
        stride: stride(ticks),
        to,
        tolerance,
    };
    while start < ticks.0 {
        let (end, goal) = whole.longest(&course, start, level);
        pieces.push(Piece {
            ticks: Ticks(end - start),
            to: goal,
        });
        start = end;
        level = goal;
    }
    pieces
}

/// Ticks from sample to sample: of a long course multiples of what slow lines count in, so that its
/// pieces leave nothing over.
fn stride(ticks: Ticks) -> u32 {
    let unit = u32::from(SLOW_UNIT);
    if ticks.0 < SAMPLES {
        1
    } else {
        (ticks.0 / SAMPLES / unit).max(1) * unit
    }
}

/// What all pieces of a course have in common.
struct Whole {
    /// The last whole tick.
    last: u32,
    /// Where the course ends.
    end: f64,
    /// Ticks from sample to sample.
    stride: u32,
    to: Level,
    tolerance: f64,
}

impl Whole {
    /// The farthest tick, and the level there, that one piece from `level` at `start` can reach.
    fn longest(&self, course: &impl Fn(f64) -> f64, start: u32, level: Level) -> (u32, Level) {
        let origin = f64::from(level.0);
        let goal = f64::from(self.to.0);
        let (least, most) = (origin.min(goal), origin.max(goal));
        let (mut lowest, mut highest) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut best = None;
        let mut tick = start;
        while tick < self.last {
            tick = tick.saturating_add(self.stride).min(self.last);
            let mut at = f64::from(tick);
            let mut meet = |at: f64| {
                let (run, height) = (at - f64::from(start), course(at));
                lowest = lowest.max((height - self.tolerance - origin) / run);
                highest = highest.min((height + self.tolerance - origin) / run);
            };
            meet(at);
            if tick == self.last {
                at = self.end;
                meet(self.end);
            }
            let (run, height) = (at - f64::from(start), course(at));
            if lowest > highest {
                break;
            }
            let middle = height.clamp(origin + lowest * run, origin + highest * run);
            let goal = if tick == self.last {
                goal
            } else {
                middle.round().clamp(least, most)
            };
            if (lowest..=highest).contains(&((goal - origin) / run)) {
                best = Some((tick, Level(goal as u8)));
            }
        }
        best.unwrap_or_else(|| {
            // A course steeper than the tolerance has no cone at all: follow it sample by sample.
            let tick = start.saturating_add(self.stride).min(self.last);
            let height = course(f64::from(tick)).round().clamp(least, most);
            let reached = if tick == self.last { goal } else { height };
            (tick, Level(reached as u8))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::score::shape;
    use crate::spec::{Ease, Shape};

    fn whole(ticks: u32) -> Length {
        Length {
            ticks: Ticks(ticks),
            fraction: 0,
        }
    }

    fn worst(course: impl Fn(f64) -> f64, from: Level, pieces: &[Piece]) -> f64 {
        let (mut tick, mut level, mut worst) = (0, f64::from(from.0), 0.0_f64);
        for piece in pieces {
            for i in 1..=piece.ticks.0 {
                let line = level
                    + (f64::from(piece.to.0) - level) * f64::from(i) / f64::from(piece.ticks.0);
                worst = worst.max((line - course(f64::from(tick + i))).abs());
            }
            tick += piece.ticks.0;
            level = f64::from(piece.to.0);
        }
        worst
    }

    #[test]
    fn a_straight_course_is_one_piece() {
        let course = |tick: f64| tick * 255.0 / 400.0;
        let cut = pieces(course, whole(400), Level(0), Level(255), 0.7);
        assert_eq!(
            cut,
            [Piece {
                ticks: Ticks(400),
                to: Level(255)
            }]
        );
    }

    #[test]
    fn a_soft_fade_stays_within_the_tolerance_in_a_few_pieces() {
        let course = |tick: f64| 255.0 * shape::eased(Ease::Soft, tick / 400.0);
        let cut = pieces(course, whole(400), Level(0), Level(255), 0.7);
        assert!(worst(course, Level(0), &cut) <= 0.7 + 1e-9);
        assert!(cut.len() <= 12, "{} pieces", cut.len());
    }

    #[test]
    fn half_a_sine_stays_within_the_tolerance_in_a_few_pieces() {
        let course = |tick: f64| 255.0 * shape::wave(Shape::Sine, tick / 1200.0);
        let cut = pieces(course, whole(600), Level(0), Level(255), 0.7);
        assert!(worst(course, Level(0), &cut) <= 0.7 + 1e-9);
        assert!(cut.len() <= 12, "{} pieces", cut.len());
    }

    /// `5 % → 80 %` in 64 levels: the course ends at level 50.4, the fade at 50.
    #[test]
    fn a_soft_fade_never_passes_its_end() {
        for (from, to) in [(3.15, 50.4), (50.4, 3.15), (12.4, 12.6), (0.4, 254.6)] {
            let course = |tick: f64| from + (to - from) * shape::eased(Ease::Soft, tick / 400.0);
            let ends = [from, to].map(|level: f64| Level(level.round() as u8));
            let cut = pieces(course, whole(400), ends[0], ends[1], 0.7);
            let mut levels: Vec<Level> = cut.iter().map(|piece| piece.to).collect();
            levels.insert(0, ends[0]);
            if from > to {
                levels.reverse();
            }
            assert!(levels.is_sorted(), "{from} to {to}: {levels:?}");
            assert_eq!(cut.last().unwrap().to, ends[1]);
        }
    }

    #[test]
    fn a_fade_of_a_week_is_cut_as_one_of_seconds() {
        let ticks = 300_000_000;
        let course = |tick: f64| 255.0 * shape::eased(Ease::Soft, tick / f64::from(ticks));
        let cut = pieces(course, whole(ticks), Level(0), Level(255), 0.7);
        assert_eq!(cut.iter().map(|piece| piece.ticks.0).sum::<u32>(), ticks);
        assert!(cut.len() <= 12, "{} pieces", cut.len());
    }

    #[test]
    fn a_fade_of_one_tick_goes_there_at_once() {
        let cut = pieces(|_| 255.0, whole(1), Level(0), Level(255), 0.7);
        assert_eq!(
            cut,
            [Piece {
                ticks: Ticks(1),
                to: Level(255)
            }]
        );
    }
}
