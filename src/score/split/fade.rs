//! A fade that is longer than a line can be, cut where nobody can tell.

use crate::score::program::{Length, Line, Op};
use crate::units::{Level, Ticks};

/// A part may end this far from a whole level.
const NEAR: f64 = 0.049;

/// Parts of a fade, or of a hold, between them as good as one line: they end where the line is near
/// a whole level, with one part more than the fewest if need be. A line so slow that it is seldom
/// near one is played step by step.
pub(super) fn fade(
    line: &Line,
    from: Level,
    to: Level,
    length: Length,
    longest: Ticks,
    lines: &mut Vec<Line>,
) {
    let total = length.ticks.0;
    let rise = f64::from(to.0) - f64::from(from.0);
    let at = |tick: u32| f64::from(from.0) + rise * f64::from(tick) / f64::from(total);
    let near = |cuts: &Vec<u32>| cuts.iter().all(|cut| off(at(*cut)) <= NEAR);
    let least = total.div_ceil(longest.0);
    let fewest = cuts(total, longest.0, least, at);
    let distance = u32::from(from.0.abs_diff(to.0));
    let ends = if near(&fewest) {
        fewest
    } else {
        let more = cuts(total, longest.0, least + 1, at);
        if near(&more) || distance > total {
            more
        } else {
            steps(total, longest.0, distance)
        }
    };
    let mut begin = (0, from);
    for (part, &end) in ends.iter().enumerate() {
        let last = end == total;
        let goal = Level(at(end).round() as u8);
        lines.push(Line {
            op: Op::Fade {
                length: Length {
                    ticks: Ticks(end - begin.0),
                    fraction: if last { length.fraction } else { 0 },
                },
                to: goal,
            },
            from: Some(begin.1),
            note: format!("{}, part {} of {}", line.note, part + 1, ends.len()),
            span: line.span,
        });
        begin = (end, goal);
    }
}

/// The ends of parts that wait for a step of one level, or lie around one so that it comes when the
/// undivided line makes it.
fn steps(total: u32, longest: u32, distance: u32) -> Vec<u32> {
    // The line moves when what it owes, half its length at first, is used up.
    let moves = |step: u32| {
        let owed = u64::from(total / 2) + u64::from(step) * u64::from(total);
        (owed / u64::from(distance)) as u32 + 1
    };
    let mut ends = Vec::new();
    let mut begin = 0;
    for step in 0..distance {
        let tick = moves(step);
        let after = if step + 1 < distance {
            moves(step + 1) - 1
        } else {
            total
        };
        let half = ((longest - 1) / 2).min(tick - 1 - begin).min(after - tick);
        wait(begin, tick - 1 - half, longest, &mut ends);
        begin = tick + half;
        ends.push(begin);
    }
    wait(begin, total, longest, &mut ends);
    ends
}

fn wait(from: u32, until: u32, longest: u32, ends: &mut Vec<u32>) {
    let mut begin = from;
    while begin < until {
        begin = (begin + longest).min(until);
        ends.push(begin);
    }
}

/// Where so many parts end: of the ticks that leave the later parts enough room, the latest one at
/// which the line is near a whole level, or else the one at which it is nearest.
fn cuts(total: u32, longest: u32, parts: u32, at: impl Fn(u32) -> f64) -> Vec<u32> {
    let mut cuts = Vec::new();
    let mut begin = 0;
    for left in (1..parts).rev() {
        let first = total.saturating_sub(left * longest).max(begin + 1);
        let last = (begin + longest).min(total - left);
        let room = || (first..=last).rev();
        let near = room().find(|tick| off(at(*tick)) <= NEAR);
        let nearest = || room().min_by(|a, b| off(at(*a)).total_cmp(&off(at(*b))));
        begin = near.or_else(nearest).unwrap_or(last);
        cuts.push(begin);
    }
    cuts.push(total);
    cuts
}

/// How far a level is from a whole one.
fn off(level: f64) -> f64 {
    (level - level.round()).abs()
}
