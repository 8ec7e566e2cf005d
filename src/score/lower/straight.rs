//! What is known beforehand: fades in straight pieces, jumps and holds.

use super::{Lowering, RENEWED};
use crate::diagnostic::Span;
use crate::score::fit::{self, Piece};
use crate::score::moves::Known;
use crate::score::program::{Label, Length, Line, Op};
use crate::score::shape::eased;
use crate::spec::Ease;
use crate::units::{Share, Time};

impl Lowering<'_> {
    pub(super) fn fade(&mut self, share: Share, over: Time, ease: Ease, span: Span) {
        let goal = Known::of(share, self.rules.top);
        let to = goal.level;
        self.fades.push((span, self.level() != Some(to)));
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

    /// Straight pieces, the last of which takes the fraction of a tick that is over.
    pub(super) fn pieces(&mut self, cut: &[Piece], fraction: u16, what: &str, span: Span) {
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

    pub(super) fn jump(&mut self, goal: Known, span: Span) {
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

    pub(super) fn hold(&mut self, time: Time, span: Span) {
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

    pub(super) fn stay(&mut self, span: Span) {
        let length = self.rules.grid.length(0.0, RENEWED);
        let to = if let Some((hold, note)) = self.open_jump() {
            *hold = length;
            note.push_str(", and stay");
            Label(self.lines.len() - 1)
        } else {
            let here = self.label();
            match self.level() {
                Some(to) => {
                    let note = format!("stay at {}", self.percent(to));
                    self.push(Op::Fade { length, to }, note, span);
                }
                None => self.push(Op::Wait { length }, "stay".into(), span),
            }
            here
        };
        self.push(Op::Goto { to }, "for ever".into(), span);
    }

    /// The jump just lowered, if it does not hold yet and only this point follows it.
    pub(super) fn open_jump(&mut self) -> Option<(&mut Length, &mut String)> {
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
}
