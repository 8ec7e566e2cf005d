//! Moves to operations: eases and waves become straight pieces, times become ticks.

mod drawn;
mod rounds;
mod straight;
mod tidy;
mod waves;

use crate::diagnostic::{Diagnostic, Severity, Span};
use crate::score::grid::Grid;
use crate::score::moves::{Known, Move, What, level_after};
use crate::score::program::{Label, Length, Line, Op};
use crate::spec::Times;
use crate::units::{Level, Share, Time};

/// What a program is made of: some moves that are played once, and some that are played for ever.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Routine {
    pub intro: Vec<Move>,
    /// Not empty.
    pub cycle: Vec<Move>,
    /// It starts at the level that a round of the cycle ends at, where that is known when compiling;
    /// otherwise, and in all other cases, from dark.
    pub steady: bool,
}

/// A lowered course.
pub(super) struct Lowered {
    pub lines: Vec<Line>,
    /// The level from which it must start for its first round to be like the later ones.
    pub initial: Level,
    /// Each fade, and whether it moves this channel.
    pub fades: Vec<(Span, bool)>,
}

/// What a jump back to a program's start says.
const FROM_THE_START: &str = "from the start";

/// How courses are lowered; the same for a whole project.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rules {
    pub grid: Grid,
    /// The highest level of the scale.
    pub top: Level,
    /// How far, in levels, a straight piece may be from a curved course.
    pub tolerance: f64,
}

/// How often, in ticks, a channel that stays as it is looks at its program again.
pub(super) const RENEWED: f64 = 100.0;

/// Counters that a channel's player can have; each takes a byte of memory per channel.
pub(super) const MOST_SLOTS: u8 = 8;

impl Rules {
    /// Lowers a course.
    ///
    /// # Errors
    /// P001 a time shorter than a tick; P002 an eased fade from or to a level that is only known
    /// on the chip.
    pub(super) fn lower(&self, course: &Routine) -> Result<Lowered, Vec<Diagnostic>> {
        let steady = course
            .steady
            .then(|| level_after(&course.cycle, None, self.top));
        let initial = steady.flatten().unwrap_or(Known::exactly(Level(0)));
        let mut lowering = Lowering {
            rules: self,
            lines: Vec::new(),
            known: Some(initial),
            at: 0.0,
            depth: 0,
            fence: 0,
            fades: Vec::new(),
            errors: Vec::new(),
        };
        lowering.list(&course.intro);
        match course.cycle.as_slice() {
            [
                Move {
                    what: What::Stay,
                    span,
                },
            ] => lowering.stay(*span),
            cycle => lowering.forever(cycle),
        }
        if lowering.errors.is_empty() {
            let mut lines = tidy::tidied(lowering.lines);
            let jumps = matches!(lines[0].op, Op::Jump { .. });
            let initial = match settled(&mut lines) {
                Some(level) => level,
                None if jumps => Level(0),
                None => initial.level,
            };
            Ok(Lowered {
                lines,
                initial,
                fades: lowering.fades,
            })
        } else {
            Err(lowering.errors)
        }
    }
}

/// The level at which a program begins that would only jump there, and stay.
fn settled(lines: &mut [Line]) -> Option<Level> {
    let [
        first,
        Line {
            op: Op::Goto { to: Label(0) },
            ..
        },
    ] = lines
    else {
        return None;
    };
    let Op::Jump { length, to } = first.op else {
        return None;
    };
    first.op = Op::Fade { length, to };
    first.from = Some(to);
    Some(to)
}

struct Lowering<'a> {
    rules: &'a Rules,
    lines: Vec<Line>,
    /// The level at this point, where it is the same each time.
    known: Option<Known>,
    /// Real ticks since the start.
    at: f64,
    /// How many counted repetitions we are in.
    depth: u8,
    /// The last line that something jumps to; what comes before it is not added to any more.
    fence: usize,
    /// Each fade, and whether it moves the light.
    fades: Vec<(Span, bool)>,
    errors: Vec<Diagnostic>,
}

impl Lowering<'_> {
    fn list(&mut self, moves: &[Move]) {
        for one in moves {
            self.one(one);
        }
    }

    fn one(&mut self, Move { what, span }: &Move) {
        let span = *span;
        match what {
            What::Fade { to, over, ease } => self.fade(*to, *over, *ease, span),
            What::Set(to) => self.jump(Known::of(*to, self.rules.top), span),
            What::Hold(time) => self.hold(*time, span),
            What::Stay => self.stay(span),
            What::Random { eased: true, .. } => self.unknown_ease(span),
            What::Random { jump, over, to, .. } => self.random(*jump, *over, *to, span),
            What::Keep { over } => {
                if let Some(ticks) = self.tick_range(*over, span) {
                    let note = if over.0 == over.1 {
                        format!("wait {}", over.0)
                    } else {
                        format!("wait {} to {}, drawn", over.0, over.1)
                    };
                    self.push(Op::Keep { ticks }, note, span);
                }
            }
            What::Repeat {
                times: Times::Forever,
                body,
            } => self.forever(body),
            What::Repeat {
                times: Times::Count(n),
                body,
            } => self.repeat(*n, body),
            What::Branch(branches) => self.branch(branches, span),
            What::Wave { .. } => self.wave(what, span),
        }
    }

    /// A label for the next line.
    fn label(&mut self) -> Label {
        self.fence = self.lines.len();
        Label(self.fence)
    }

    fn push(&mut self, op: Op, note: String, span: Span) {
        self.lines.push(Line {
            op,
            from: self.level(),
            note,
            span,
        });
    }

    /// Moves on by `time`; `None`, with an error, when that is less than a tick.
    fn pass(&mut self, time: Time, span: Span) -> Option<Length> {
        let to = self.at + self.rules.grid.ticks(time);
        if to - self.at > f64::from(u32::MAX) {
            self.too_long(time, span);
            return None;
        }
        let length = self.rules.grid.length(self.at, to);
        if length.ticks.0 == 0 {
            self.too_short(time, span);
            return None;
        }
        self.at = to;
        Some(length)
    }

    fn too_long(&mut self, time: Time, span: Span) {
        self.errors.push(Diagnostic {
            severity: Severity::Error,
            code: "P003",
            span: Some(span),
            message: format!("{time} is too long for so short a tick"),
            label: format!("expected at most {} ticks", u32::MAX),
            hint: Some("make it shorter, or ask for a longer `tick:`".into()),
        });
    }

    fn too_short(&mut self, time: Time, span: Span) {
        let tick = Time((self.rules.grid.tick_seconds() * 1e9).round() as u64);
        self.errors.push(Diagnostic {
            severity: Severity::Error,
            code: "P001",
            span: Some(span),
            message: format!("{time} is shorter than a tick"),
            label: format!("takes less than one tick of {tick}"),
            hint: Some(format!(
                "make it at least {tick}, or ask for a shorter `tick:`"
            )),
        });
    }

    fn level(&self) -> Option<Level> {
        self.known.map(|known| known.level)
    }

    fn percent(&self, level: Level) -> Share {
        Share((f64::from(level.0) / f64::from(self.rules.top.0) * 1000.0).round() / 1000.0)
    }
}
