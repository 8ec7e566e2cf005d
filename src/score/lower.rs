//! Moves to operations: eases and waves become straight pieces, times become ticks.

use crate::diagnostic::{Diagnostic, Severity, Span};
use crate::score::fit::{self, Piece};
use crate::score::grid::Grid;
use crate::score::moves::{Known, Move, What, level_after, needs_level};
use crate::score::program::{Label, Length, LevelRange, Line, Op, TickRange};
use crate::score::shape::{eased, wave};
use crate::spec::{Ease, Shape, Times};
use crate::units::{Level, Share, Ticks, Time};

/// What a program is made of: some moves that are played once, and some that are played for ever.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    pub intro: Vec<Move>,
    /// Not empty.
    pub cycle: Vec<Move>,
    /// As if it had been running for ever; otherwise it starts from dark.
    pub steady: bool,
}

/// A lowered course.
pub struct Lowered {
    pub lines: Vec<Line>,
    /// The level from which it must start for its first round to be like the later ones.
    pub initial: Level,
}

/// How courses are lowered; the same for a whole project.
#[derive(Debug, Clone, Copy)]
pub struct Rules {
    pub grid: Grid,
    /// The highest level of the scale.
    pub top: Level,
    /// How far, in levels, a straight piece may be from a curved course.
    pub tolerance: f64,
}

/// The player counts rounds in one byte.
const MOST_ROUNDS: u32 = 255;

/// Counters that a channel's player can have; each takes a byte of memory per channel.
pub const MOST_SLOTS: u8 = 8;

/// Bytes of program that are cheaper than a counted repetition.
const CHEAP: usize = 8;

impl Rules {
    /// Lowers a course.
    ///
    /// # Errors
    /// P001 a time shorter than a tick; P002 an eased fade from or to a level that is only known
    /// on the chip.
    pub fn lower(&self, course: &Course) -> Result<Lowered, Vec<Diagnostic>> {
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
            errors: Vec::new(),
        };
        lowering.list(&course.intro);
        lowering.forever(&course.cycle);
        if lowering.errors.is_empty() {
            let jumps = matches!(
                lowering.lines.first(),
                Some(Line {
                    op: Op::Jump { .. },
                    ..
                })
            );
            let initial = if jumps { Level(0) } else { initial.level };
            Ok(Lowered {
                lines: lowering.lines,
                initial,
            })
        } else {
            Err(lowering.errors)
        }
    }
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

    /// The jump just lowered, if it does not hold yet and only this point follows it.
    fn open_jump(&mut self) -> Option<(&mut Length, &mut String)> {
        if self.lines.len() <= self.fence {
            return None;
        }
        match self.lines.last_mut()? {
            Line {
                op: Op::Jump { length, .. },
                note,
                ..
            } if *length == Length::default() => Some((length, note)),
            _ => None,
        }
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
        let length = self.rules.grid.length(self.at, to);
        if length.ticks.0 == 0 {
            self.too_short(time, span);
            return None;
        }
        self.at = to;
        Some(length)
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

    fn fade(&mut self, share: Share, over: Time, ease: Ease, span: Span) {
        let goal = Known::of(share, self.rules.top);
        let to = goal.level;
        let Some(length) = self.pass(over, span) else {
            return;
        };
        let percent = self.percent(to);
        if ease == Ease::Linear || self.level() == Some(to) {
            let note = if self.level() == Some(to) {
                format!("hold {percent} for {over}")
            } else {
                format!("to {percent} over {over}")
            };
            self.push(Op::Fade { length, to }, note, span);
            self.known = Some(goal);
            return;
        }
        let Some(from) = self.known else {
            return self.unknown_ease(span);
        };
        let name = match ease {
            Ease::Linear => "",
            Ease::Soft => "softly ",
            Ease::SoftIn => "softly in ",
            Ease::SoftOut => "softly out ",
        };
        let real = f64::from(length.ticks.0) + f64::from(length.fraction) / 65536.0;
        // Between the levels that were asked for, not their nearest whole ones: those errors would
        // add to that of the pieces.
        let (low, rise) = (from.real(), goal.real() - from.real());
        let course = |tick: f64| low + rise * eased(ease, tick / real);
        let cut = fit::pieces(course, length, from.level, to, self.rules.tolerance);
        self.pieces(
            &cut,
            length.fraction,
            &format!("{name}to {percent} over {over}"),
            span,
        );
        self.known = Some(goal);
    }

    fn unknown_ease(&mut self, span: Span) {
        self.errors.push(Diagnostic {
            severity: Severity::Error,
            code: "P002",
            span: Some(span),
            message: "an eased fade needs levels and a time that are known beforehand".into(),
            label: "they are only drawn on the chip".into(),
            hint: Some(
                "leave out `ease`, or make the draws when compiling: `draw: {seed: 1, rounds: 8}`"
                    .into(),
            ),
        });
    }

    /// Straight pieces, the last of which takes the fraction of a tick that is over.
    fn pieces(&mut self, cut: &[Piece], fraction: u16, what: &str, span: Span) {
        for (i, piece) in cut.iter().enumerate() {
            let last = i + 1 == cut.len();
            let length = Length {
                ticks: piece.ticks,
                fraction: if last { fraction } else { 0 },
            };
            let note = if cut.len() == 1 {
                what.to_string()
            } else {
                format!(
                    "{what}, piece {} of {}: {}",
                    i + 1,
                    cut.len(),
                    self.percent(piece.to)
                )
            };
            self.push(
                Op::Fade {
                    length,
                    to: piece.to,
                },
                note,
                span,
            );
            self.known = Some(Known::exactly(piece.to));
        }
    }

    fn jump(&mut self, goal: Known, span: Span) {
        let to = goal.level;
        if self.level() == Some(to) {
            self.known = Some(goal);
            return;
        }
        let note = format!("jump to {}", self.percent(to));
        self.push(
            Op::Jump {
                length: Length::default(),
                to,
            },
            note,
            span,
        );
        self.known = Some(goal);
    }

    fn hold(&mut self, time: Time, span: Span) {
        let Some(length) = self.pass(time, span) else {
            return;
        };
        // A jump with nothing behind it yet can carry the hold.
        if let Some((hold, note)) = self.open_jump() {
            *hold = length;
            note.push_str(&format!(" for {time}"));
            return;
        }
        match self.level() {
            Some(to) => {
                let note = format!("hold {} for {time}", self.percent(to));
                self.push(Op::Fade { length, to }, note, span);
            }
            None => self.push(Op::Wait { length }, format!("wait {time}"), span),
        }
    }

    fn random(&mut self, jump: bool, over: (Time, Time), to: (Level, Level), span: Span) {
        let Some(ticks) = self.tick_range(over, span) else {
            return;
        };
        let (low, high) = (to.0.min(to.1), to.0.max(to.1));
        let level = LevelRange {
            low,
            span: high.0 - low.0,
        };
        let verb = if jump { "jump to" } else { "to" };
        let what = if low == high {
            format!("{verb} {}", self.percent(low))
        } else {
            format!(
                "{verb} {} to {}, drawn",
                self.percent(low),
                self.percent(high)
            )
        };
        let note = match over {
            (_, Time(0)) => what,
            (a, b) if a == b => format!("{what}, over {a}"),
            (a, b) => format!("{what}, over {a} to {b}, drawn"),
        };
        self.push(Op::Random { jump, ticks, level }, note, span);
        self.known = (low == high).then_some(Known::exactly(low));
    }

    /// Drawn times are whole ticks, within the range that was asked for where it has any, or else
    /// the nearest.
    fn tick_range(&mut self, (a, b): (Time, Time), span: Span) -> Option<TickRange> {
        let (low, high) = (a.min(b), a.max(b));
        let (from, to) = (self.rules.grid.ticks(low), self.rules.grid.ticks(high));
        if high.0 > 0 && from < 1.0 {
            self.too_short(low, span);
            return None;
        }
        let (mut first, mut last) = ((from - 1e-9).ceil(), (to + 1e-9).floor());
        if last < first {
            first = ((from + to) / 2.0).round();
            last = first;
        }
        Some(TickRange {
            low: Ticks(first as u32),
            span: Ticks((last - first) as u32),
        })
    }

    fn forever(&mut self, body: &[Move]) {
        let entry = self.known;
        let back = level_after(body, entry, self.rules.top);
        if entry != back {
            if needs_level(body) {
                // The first round departs from another level than the later ones.
                self.list(body);
            } else {
                self.known = None;
            }
        }
        let start = self.label();
        self.list(body);
        let span = body.first().map_or(Span::default(), |one| one.span);
        self.push(Op::Goto { to: start }, "from the start".into(), span);
    }

    fn repeat(&mut self, times: u32, body: &[Move]) {
        if times == 0 {
            return;
        }
        let entry = self.known;
        let back = level_after(body, entry, self.rules.top);
        if times > 1 && entry != back && needs_level(body) {
            self.list(body);
            return self.repeat(times - 1, body);
        }
        if entry != back && times > 1 {
            self.known = None;
        }
        if times <= MOST_ROUNDS {
            self.counted(times, body);
        } else if let Some(inner) = (2..=MOST_ROUNDS).rev().find(|n| times.is_multiple_of(*n)) {
            self.nested(times / inner, inner, body);
        } else {
            self.nested(times / MOST_ROUNDS, MOST_ROUNDS, body);
            self.repeat(times % MOST_ROUNDS, body);
        }
    }

    fn nested(&mut self, outer: u32, inner: u32, body: &[Move]) {
        let span = body.first().map_or(Span::default(), |one| one.span);
        let round = Move {
            what: What::Repeat {
                times: Times::Count(inner),
                body: body.to_vec(),
            },
            span,
        };
        self.repeat(outer, &[round]);
    }

    fn counted(&mut self, times: u32, body: &[Move]) {
        if times > 1 && self.depth == MOST_SLOTS {
            let span = body.first().map_or(Span::default(), |one| one.span);
            self.errors.push(Diagnostic {
                severity: Severity::Error,
                code: "P005",
                span: Some(span),
                message: "repetitions are nested too deeply".into(),
                label: format!("inside {MOST_SLOTS} counted repetitions already"),
                hint: Some("write out the innermost rounds, or use fewer levels".into()),
            });
            return;
        }
        let start = self.label();
        self.depth += 1;
        self.list(body);
        self.depth -= 1;
        let rounds = times - 1;
        if rounds == 0 {
            return;
        }
        let lowered = &self.lines[start.0..];
        let plain = lowered.iter().all(|line| {
            matches!(
                line.op,
                Op::Fade { .. } | Op::Jump { .. } | Op::Random { .. }
            )
        });
        if plain && 2 * lowered.len() * rounds as usize <= CHEAP {
            for _ in 0..rounds {
                self.list(body);
            }
            return;
        }
        let span = body.first().map_or(Span::default(), |one| one.span);
        let op = Op::Repeat {
            slot: self.depth,
            count: times as u8,
            to: start,
        };
        self.push(op, format!("{times} times in all"), span);
    }

    fn branch(&mut self, branches: &[Vec<Move>], span: Span) {
        let entry = self.known;
        let at = self.at;
        let head = self.lines.len();
        self.push(
            Op::Branch { to: Vec::new() },
            format!("draw one of {}", branches.len()),
            span,
        );
        let mut labels: Vec<Label> = Vec::new();
        let mut exits = Vec::new();
        let mut ends = Vec::new();
        for (i, body) in branches.iter().enumerate() {
            if let Some(same) = branches[..i].iter().position(|other| other == body) {
                labels.push(labels[same]);
                continue;
            }
            labels.push(self.label());
            self.known = entry;
            self.at = at;
            self.list(body);
            ends.push(self.known);
            exits.push(self.lines.len());
            self.push(Op::Goto { to: Label(0) }, "on".into(), span);
        }
        // The last branch falls through to what follows.
        self.lines.pop();
        exits.pop();
        let end = self.label();
        for exit in exits {
            self.lines[exit].op = Op::Goto { to: end };
        }
        self.lines[head].op = Op::Branch { to: labels };
        self.known = if ends.iter().all(|known| *known == ends[0]) {
            ends[0]
        } else {
            None
        };
    }

    fn wave(&mut self, what: &What, span: Span) {
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

    fn percent(&self, level: Level) -> Share {
        Share((f64::from(level.0) / f64::from(self.rules.top.0) * 1000.0).round() / 1000.0)
    }
}
