//! What is played again: for ever, or a number of times.

use super::{FROM_THE_START, Lowering, MOST_SLOTS};
use crate::diagnostic::{Diagnostic, Severity, Span};
use crate::score::moves::{Move, What, level_after, needs_level};
use crate::score::program::Op;
use crate::spec::Times;

/// The player counts rounds in one byte.
const MOST_ROUNDS: u32 = 255;

/// Bytes of program that are cheaper than a counted repetition.
const CHEAP: usize = 8;

impl Lowering<'_> {
    pub(super) fn forever(&mut self, body: &[Move]) {
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
        self.push(Op::Goto { to: start }, FROM_THE_START.into(), span);
    }

    pub(super) fn repeat(&mut self, times: u32, body: &[Move]) {
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
}
