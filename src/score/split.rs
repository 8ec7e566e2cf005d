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

/// A part may end this far from a whole level; if it cannot, there is one part more.
const NEAR: f64 = 0.05;

/// Parts of a fade, or of a hold, that end where the line is near a whole level.
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
    let least = total.div_ceil(longest.0);
    let mut cuts = cuts(total, longest.0, least, at);
    if cuts.iter().any(|cut| off(at(*cut)) > NEAR) {
        cuts = self::cuts(total, longest.0, least + 1, at);
    }
    let mut before = (0, from);
    for (part, &until) in cuts.iter().enumerate() {
        let last = until == total;
        let goal = if last {
            to
        } else {
            Level(at(until).round() as u8)
        };
        let note = format!("{}, part {} of {}", line.note, part + 1, cuts.len());
        lines.push(Line {
            op: Op::Fade {
                length: Length {
                    ticks: Ticks(until - before.0),
                    fraction: if last { length.fraction } else { 0 },
                },
                to: goal,
            },
            from: Some(before.1),
            note,
            span: line.span,
        });
        before = (until, goal);
    }
}

/// Where so many parts end: of the ticks that leave the later parts enough room, the one at which
/// the line is nearest to a whole level; of equals, the latest.
fn cuts(total: u32, longest: u32, parts: u32, at: impl Fn(u32) -> f64) -> Vec<u32> {
    let mut cuts = Vec::new();
    let mut begin = 0;
    for left in (1..parts).rev() {
        let first = total.saturating_sub(left * longest).max(begin + 1);
        let last = (begin + longest).min(total - left);
        let nearest = (first..=last)
            .rev()
            .min_by(|a, b| off(at(*a)).total_cmp(&off(at(*b))));
        begin = nearest.unwrap_or(last);
        cuts.push(begin);
    }
    cuts.push(total);
    cuts
}

/// How far a level is from a whole one.
fn off(level: f64) -> f64 {
    (level - level.round()).abs()
}
