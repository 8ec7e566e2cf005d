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
            let parts = length.ticks.0.div_ceil(longest.0);
            fade(line, from, to, length, parts, lines);
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

/// Equal parts of a fade, or of a hold.
fn fade(line: &Line, from: Level, to: Level, length: Length, parts: u32, lines: &mut Vec<Line>) {
    let total = length.ticks.0;
    let rise = f64::from(to.0) - f64::from(from.0);
    let mut before = (0, from);
    for part in 1..=parts {
        let until = (u64::from(total) * u64::from(part) / u64::from(parts)) as u32;
        let there = f64::from(from.0) + rise * f64::from(until) / f64::from(total);
        let goal = Level(there.round() as u8);
        let fraction = if part == parts { length.fraction } else { 0 };
        let length = Length {
            ticks: Ticks(until - before.0),
            fraction,
        };
        let note = format!("{}, part {part} of {parts}", line.note);
        lines.push(Line {
            op: Op::Fade { length, to: goal },
            from: Some(before.1),
            note,
            span: line.span,
        });
        before = (until, goal);
    }
}
