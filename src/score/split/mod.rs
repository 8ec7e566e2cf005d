//! Operations that are longer than a form can say: cut into several, or played slowly, where a step
//! of the line comes only every so many ticks.

mod fade;

use fade::fade;

use crate::score::format::{Code, Format};
use crate::score::program::{Label, Length, Line, Op, Program, SLOW_UNIT, Score, TickRange};
use crate::units::Ticks;

/// The score with every operation within what `format` can say. `Err` holds the first line that
/// cannot be cut: a drawn length, or a fade from a level that is only known on the chip.
pub(super) fn split(score: &Score, format: &Format) -> Result<Score, Box<Line>> {
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
            if ticks.highest() > format.longest_drawn() =>
        {
            slow_draw(line, ticks, format, lines)?;
        }
        Op::Fade { length, to } if length.ticks > longest_line() && line.from != Some(to) => {
            return Err(Box::new(line.clone()));
        }
        Op::Fade { length, .. } | Op::Jump { length, .. } | Op::Wait { length }
            if length.ticks > longest && is_slow(line, length, format) =>
        {
            slow(line, length, longest, lines);
        }
        Op::Fade { length, to } if length.ticks > longest => {
            let from = line.from.ok_or_else(|| Box::new(line.clone()))?;
            fade(line, from, to, length, longest, lines);
        }
        Op::Jump { length, .. } | Op::Wait { length } if length.ticks > longest => {
            let first = Length {
                ticks: longest,
                fraction: 0,
            };
            lines.push(lasting(line, first));
            let rest = Length {
                ticks: Ticks(length.ticks.0 - longest.0),
                ..length
            };
            split_line(&staying(line, rest), format, lines)?;
        }
        _ => lines.push(line.clone()),
    }
    Ok(())
}

/// The same line, for so long.
fn lasting(line: &Line, length: Length) -> Line {
    let op = match line.op {
        Op::Jump { to, .. } => Op::Jump { length, to },
        Op::Wait { .. } => Op::Wait { length },
        Op::Fade { to, .. } => Op::Fade { length, to },
        ref other => other.clone(),
    };
    Line { op, ..line.clone() }
}

/// What follows a line when its level is reached: the same level, for so long.
fn staying(line: &Line, length: Length) -> Line {
    let (op, from) = match line.op {
        Op::Fade { to, .. } | Op::Jump { to, .. } => (Op::Fade { length, to }, Some(to)),
        _ => (Op::Wait { length }, line.from),
    };
    Line {
        op,
        from,
        ..line.clone()
    }
}

/// A slow line has at least so many steps for each level that it moves: it is late by up to a step,
/// and the rest after it by up to another, so that both together come to what [`NEAR`] allows.
const STEPS_A_LEVEL: u32 = 40;

/// How often a slow line's step comes so that a time can be said, in as few ticks as will do.
fn least_units(ticks: Ticks, longest: Ticks) -> u8 {
    let most = longest.0 * u32::from(SLOW_UNIT);
    ticks.0.div_ceil(most).min(255) as u8
}

/// The same, but in a few more if nothing is left over then.
fn even_units(ticks: Ticks, longest: Ticks) -> u8 {
    let fewest = least_units(ticks, longest);
    let even = |units: &u8| {
        ticks
            .0
            .is_multiple_of(u32::from(SLOW_UNIT) * u32::from(*units))
    };
    (fewest..=255).find(even).unwrap_or(fewest)
}

/// Whether a long line is better played slowly than in parts. One from a level that is only known on
/// the chip has no other way.
fn is_slow(line: &Line, length: Length, format: &Format) -> bool {
    let units = u32::from(least_units(length.ticks, format.longest()));
    let steps = length.ticks.0 / (u32::from(SLOW_UNIT) * units);
    let moves = match (&line.op, line.from) {
        (Op::Fade { to, .. }, Some(from)) => u32::from(from.0.abs_diff(to.0)),
        _ => 0,
    };
    format.slow && steps >= moves * STEPS_A_LEVEL
}

/// A slow line, and what is left over at its end.
fn slow(line: &Line, length: Length, longest: Ticks, lines: &mut Vec<Line>) {
    let units = match line.op {
        // A fade wants many steps more than it wants nothing left over.
        Op::Fade { to, .. } if line.from != Some(to) => least_units(length.ticks, longest),
        _ => even_units(length.ticks, longest),
    };
    let step = u32::from(units) * u32::from(SLOW_UNIT);
    let mut steps = (length.ticks.0 / step).min(longest.0);
    // A fraction of a tick is for a line whose steps are ticks.
    if steps * step == length.ticks.0 && length.fraction > 0 {
        steps -= 1;
    }
    lines.push(slowness(line, units));
    let played = Length {
        ticks: Ticks(steps),
        fraction: 0,
    };
    lines.push(lasting(line, played));
    let rest = Length {
        ticks: Ticks(length.ticks.0 - steps * step),
        ..length
    };
    if rest.ticks > longest {
        slow(&staying(line, rest), rest, longest, lines);
    } else if rest != Length::default() {
        let note = format!("{}, the rest", line.note);
        lines.push(Line {
            note,
            ..staying(line, rest)
        });
    }
}

fn slowness(line: &Line, units: u8) -> Line {
    let ticks = u16::from(units) * SLOW_UNIT;
    Line {
        op: Op::Slow { units },
        note: format!("slowly: a step every {ticks} ticks"),
        ..line.clone()
    }
}

/// The longest time that any form can draw.
fn longest_draw() -> Ticks {
    Ticks(0xFFFF * 255 * u32::from(SLOW_UNIT))
}

/// The longest fade in any form. A hold can be cut into several.
fn longest_line() -> Ticks {
    Ticks((u32::from(Code::Slow.byte()) * 256 - 1) * 255 * u32::from(SLOW_UNIT))
}

/// How long a line can be that was too long for every form.
pub(super) fn most(line: &Line) -> Ticks {
    match line.op {
        Op::Fade { .. } => longest_line(),
        _ => longest_draw(),
    }
}

/// A draw among slow ticks: those within its range, or else the nearest.
fn slow_draw(
    line: &Line,
    ticks: TickRange,
    format: &Format,
    lines: &mut Vec<Line>,
) -> Result<(), Box<Line>> {
    if !format.slow || ticks.highest() > longest_draw() {
        return Err(Box::new(line.clone()));
    }
    let unit = u32::from(SLOW_UNIT);
    let units = ticks
        .highest()
        .0
        .div_ceil(unit * format.longest_drawn().0)
        .min(255);
    let step = unit * units;
    let (mut low, mut high) = (ticks.low.0.div_ceil(step), ticks.highest().0 / step);
    if high < low {
        low = (ticks.low.0 + ticks.span.0 / 2 + step / 2) / step;
        high = low;
    }
    let drawn = TickRange {
        low: Ticks(low),
        span: Ticks(high - low),
    };
    let op = match line.op {
        Op::Random { jump, level, .. } => Op::Random {
            jump,
            ticks: drawn,
            level,
        },
        _ => Op::Keep { ticks: drawn },
    };
    lines.push(slowness(line, units as u8));
    lines.push(Line { op, ..line.clone() });
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Span;
    use crate::score::format::Widths;
    use crate::units::{Bytes, Level};

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
            once: Vec::new(),
            steady: None,
            fractions: true,
            cautions: Vec::new(),
        };
        Format::of(&score, Widths::ALL[2], Bytes(16))
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
