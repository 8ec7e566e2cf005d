//! What is only drawn on the chip: levels, times and branches.

use super::Lowering;
use crate::diagnostic::{Diagnostic, Severity, Span};
use crate::score::moves::{Known, Move};
use crate::score::program::{Label, LevelRange, Op, TickRange};
use crate::units::{Level, Ticks, Time};

impl Lowering<'_> {
    pub(super) fn random(
        &mut self,
        jump: bool,
        over: (Time, Time),
        to: (Level, Level),
        span: Span,
    ) {
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
        if !jump {
            let moves = low != high || self.level() != Some(low);
            self.fades.push((span, moves));
        }
        self.push(Op::Random { jump, ticks, level }, note, span);
        self.known = (low == high).then_some(Known::exactly(low));
    }

    /// Drawn times are whole ticks, within the range that was asked for where it has any, or else
    /// the nearest.
    pub(super) fn tick_range(&mut self, (a, b): (Time, Time), span: Span) -> Option<TickRange> {
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

    pub(super) fn branch(&mut self, branches: &[Vec<Move>], span: Span) {
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
        self.known = Known::common(ends);
    }

    pub(super) fn unknown_ease(&mut self, span: Span) {
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
}
