//! Straight pieces for a curved course.
//!
//! The player only draws straight lines between whole levels. A curved course is cut into as few
//! as stay within a tolerance, by keeping for each piece the cone of slopes that meets every
//! sample so far, and ending it where the cone closes.

use crate::score::program::Length;
use crate::units::{Level, Ticks};

/// One straight piece: go to `to` in `ticks`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Piece {
    pub ticks: Ticks,
    pub to: Level,
}

/// Cuts `course` (a level, as a real number, by ticks from 0 to `length`) into pieces that start
/// exactly at `from`, end exactly at `to`, and stay within `tolerance` levels at all whole ticks
/// between. They come to the whole ticks of `length`; the last one is meant to take the rest too.
///
/// # Panics
/// When `length` is less than a tick.
pub fn pieces(
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
    while start < ticks.0 {
        let (end, goal) = longest(&course, start, level, (ticks.0, end), to, tolerance);
        pieces.push(Piece {
            ticks: Ticks(end - start),
            to: goal,
        });
        start = end;
        level = goal;
    }
    pieces
}

/// The farthest tick, and the level there, that one piece from `level` at `start` can reach.
fn longest(
    course: &impl Fn(f64) -> f64,
    start: u32,
    level: Level,
    (last, end): (u32, f64),
    to: Level,
    tolerance: f64,
) -> (u32, Level) {
    let origin = f64::from(level.0);
    let (mut lowest, mut highest) = (f64::NEG_INFINITY, f64::INFINITY);
    // A course steeper than the tolerance per tick has no cone at all: follow it tick by tick.
    let follow = course(f64::from(start + 1)).round().clamp(0.0, 255.0) as u8;
    let mut best = (
        start + 1,
        if start + 1 == last { to } else { Level(follow) },
    );
    for tick in start + 1..=last {
        let mut at = f64::from(tick);
        let mut meet = |at: f64| {
            let (run, height) = (at - f64::from(start), course(at));
            lowest = lowest.max((height - tolerance - origin) / run);
            highest = highest.min((height + tolerance - origin) / run);
        };
        meet(at);
        if tick == last {
            at = end;
            meet(end);
        }
        let (run, height) = (at - f64::from(start), course(at));
        if lowest > highest {
            break;
        }
        let middle = height.clamp(origin + lowest * run, origin + highest * run);
        let goal = if tick == last {
            f64::from(to.0)
        } else {
            middle.round()
        };
        let slope = (goal - origin) / run;
        if (lowest..=highest).contains(&slope) && (0.0..=255.0).contains(&goal) {
            best = (tick, Level(goal as u8));
        }
    }
    best
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
