//! Cuts operations that are longer than a form can say into several.

use crate::score::format::Format;
use crate::score::program::{Label, Length, Line, Op, Program, Score};
use crate::units::{Level, Ticks};

/// The score with every operation within what `format` can say. `Err` holds the first line that
/// cannot be cut: a drawn length, or a fade from a level that is only known on the chip.
pub fn split(score: &Score, format: &Format) -> Result<Score, Box<Line>> {
    let programs = score
        .programs
        .iter()
        .map(|program| split_program(program, format))
        .collect::<Result<_, _>>()?;
    Ok(Score {
        programs,
        ..score.clone()
    })
}

fn split_program(program: &Program, format: &Format) -> Result<Program, Box<Line>> {
    let mut lines = Vec::with_capacity(program.lines.len());
    let mut moved = Vec::with_capacity(program.lines.len() + 1);
    for line in &program.lines {
        moved.push(Label(lines.len()));
        split_line(line, format, &mut lines)?;
    }
    moved.push(Label(lines.len()));
    for line in &mut lines {
        match &mut line.op {
            Op::Goto { to } | Op::Repeat { to, .. } => *to = moved[to.0],
            Op::Branch { to } => to.iter_mut().for_each(|to| *to = moved[to.0]),
            _ => {}
        }
    }
    Ok(Program {
        name: program.name.clone(),
        lines,
    })
}

fn split_line(line: &Line, format: &Format, lines: &mut Vec<Line>) -> Result<(), Box<Line>> {
    let longest = format.longest();
    match line.op {
        Op::Random { ticks, .. } | Op::Keep { ticks }
            if ticks.low.0 + ticks.span.0 > format.longest_drawn().0 =>
        {
            return Err(Box::new(line.clone()));
        }
        Op::Fade { length, to } if length.ticks > longest => {
            let from = line.from.ok_or_else(|| Box::new(line.clone()))?;
            fade(line, from, to, length, longest, lines);
        }
        Op::Jump { length, to } if length.ticks > longest => {
            let first = Length {
                ticks: longest,
                fraction: 0,
            };
            lines.push(Line {
                op: Op::Jump { length: first, to },
                ..line.clone()
            });
            let rest = Length {
                ticks: Ticks(length.ticks.0 - longest.0),
                ..length
            };
            let held = Line {
                op: Op::Fade { length: rest, to },
                from: Some(to),
                ..line.clone()
            };
            split_line(&held, format, lines)?;
        }
        Op::Wait { length } if length.ticks > longest => {
            let first = Length {
                ticks: longest,
                fraction: 0,
            };
            lines.push(Line {
                op: Op::Wait { length: first },
                ..line.clone()
            });
            let rest = Length {
                ticks: Ticks(length.ticks.0 - longest.0),
                ..length
            };
            split_line(
                &Line {
                    op: Op::Wait { length: rest },
                    ..line.clone()
                },
                format,
                lines,
            )?;
        }
        _ => lines.push(line.clone()),
    }
    Ok(())
}

/// A part may end this far from a whole level.
const NEAR: f64 = 0.049;

/// Parts of a fade, or of a hold, between them as good as one line: they end where the line is near
/// a whole level, with one part more than the fewest if need be. A line so slow that it is seldom
/// near one is played step by step.
fn fade(
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Span;

    /// The levels that the player draws.
    fn drawn(from: Level, lines: &[Line]) -> Vec<u8> {
        let mut levels = Vec::new();
        let mut level = i64::from(from.0);
        for line in lines {
            let Op::Fade { length, to } = line.op else {
                panic!("a fade")
            };
            let ticks = i64::from(length.ticks.0);
            let rise = i64::from(to.0) - level;
            let mut owed = ticks / 2;
            for _ in 0..ticks {
                owed -= rise.abs();
                while owed < 0 {
                    owed += ticks;
                    level += rise.signum();
                }
                levels.push(level as u8);
            }
        }
        levels
    }

    /// With lengths of one byte, up to 246 ticks.
    fn short_format() -> Format {
        let score = Score {
            top: Level(255),
            programs: Vec::new(),
            scenes: Vec::new(),
            shows: Vec::new(),
            fractions: true,
        };
        Format::of(&score, false, false)
    }

    #[test]
    fn parts_are_short_enough_and_draw_the_same_line() {
        for (from, to, ticks) in [
            (0, 255, 1000),
            (176, 161, 1077),
            (0, 1, 400),
            (9, 7, 5000),
            (3, 3, 900),
        ] {
            let whole = Line {
                op: Op::Fade {
                    length: Length {
                        ticks: Ticks(ticks),
                        fraction: 7,
                    },
                    to: Level(to),
                },
                from: Some(Level(from)),
                note: String::new(),
                span: Span::default(),
            };
            let mut parts = Vec::new();
            split_line(&whole, &short_format(), &mut parts).unwrap();
            let short = |line: &Line| match line.op {
                Op::Fade { length, .. } => (1..=246).contains(&length.ticks.0),
                _ => false,
            };
            assert!(parts.iter().all(short));
            let (one, other) = (drawn(Level(from), &[whole]), drawn(Level(from), &parts));
            assert_eq!(one.len(), other.len());
            assert!(one.iter().zip(&other).all(|(a, b)| a.abs_diff(*b) <= 1));
            let differ = one.iter().zip(&other).filter(|(a, b)| a != b).count();
            assert!(
                differ <= one.len() / 20,
                "{from} to {to}: {differ} ticks differ"
            );
        }
    }
}
