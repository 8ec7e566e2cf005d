//! The board's verdicts, as rows of the budget.

mod current;
mod guard;
mod lamp;
mod people;
mod string;

use super::Board;
use crate::design::Design;
use crate::diagnostic::{Diagnostic, Span};
use crate::row::{Judgement, Limit, Quantity, Row, Source};

/// All rows, what can hurt people first.
pub(super) fn rows(board: &Board, design: &Design) -> Vec<Row> {
    let in_patterns = people::flashes(board, design);
    let mut flashes = vec![if board.busiest().accepted {
        caution_at_most(in_patterns)
    } else {
        in_patterns
    }];
    // A recommended practice, and moments that pass once: beyond these, people decide.
    flashes.extend(
        board
            .changes
            .as_ref()
            .map(|changes| caution_at_most(people::at_changes(board, changes, design))),
    );
    let mut rows = vec![caution_at_most(people::modulation(board, design))];
    rows.extend(people::wobble(board, design).map(caution_at_most));
    rows.extend(flashes);
    // Light that is a little off harms nobody.
    let light = [
        lamp::led(&board.lamps, design),
        lamp::ideal(&board.guesses, design),
        lamp::crosstalk(&board.lamps, design),
    ];
    rows.extend(light.into_iter().flatten().map(caution_at_most));
    rows.extend(string::rows(board, design));
    rows.extend(
        board
            .pins
            .iter()
            .flat_map(|pins| current::pins(pins, design)),
    );
    rows.extend(
        board
            .pump
            .iter()
            .flat_map(|pump| current::pump(pump, design)),
    );
    rows.extend(
        board
            .supply
            .iter()
            .flat_map(|supply| current::supply(supply, design)),
    );
    rows.extend(current::battery(board));
    rows.extend(board.asleep.iter().flat_map(|asleep| asleep.rows(design)));
    let evenings = board.evenings.iter();
    rows.extend(evenings.flat_map(|evenings| evenings.rows(design)));
    rows.extend(guard::guard(design));
    rows.push(clock(board));
    rows
}

/// Nothing here is near its limit before it is beyond it.
fn row(
    name: (&'static str, &'static str),
    figure: Quantity,
    limit: Limit,
    source: Source,
    note: impl Into<String>,
) -> Row {
    Row::judged(name, figure, limit, 1.0, source, note)
}

/// A caution unless it is worse already.
fn careful_if(careful: bool, row: Row) -> Row {
    let least = if careful {
        Judgement::Caution
    } else {
        Judgement::Fits
    };
    row.with_verdict(|verdict| verdict.max(least))
}

/// Not more than a caution.
fn caution_at_most(row: Row) -> Row {
    row.with_verdict(|verdict| verdict.min(Judgement::Caution))
}

/// Where the fault lies and what helps, should it not fit.
fn blamed(row: Row, code: &'static str, span: Span, hint: &str) -> Row {
    row.with_fault(|row| {
        let room = match row.limit {
            Limit::AtMost(limit) if row.beyond() => format!(", more than {limit}"),
            Limit::AtMost(limit) => format!(", of at most {limit}"),
            Limit::AtLeast(limit) => format!(", less than {limit}"),
            Limit::None => String::new(),
        };
        let message = format!("{}: {}{room}", row.what, row.figure);
        Diagnostic::error(code, span, message)
            .label(row.note.clone())
            .hint(hint)
    })
}

/// Where a pattern is named, or else the chip.
fn named(pattern: &str, design: &Design) -> Span {
    let project = &design.project;
    let found = project.pattern_named(pattern);
    found.map_or(project.chip.span, |id| project.pattern(id).name.span)
}

fn clock(board: &Board) -> Row {
    let clock = &board.clock;
    let [least, most] = clock.minute;
    let accuracy = match clock.accuracy.0 {
        // Of a crystal.
        small if small < 1e-3 => Quantity::Millionths(small * 1e6),
        _ => Quantity::Share(clock.accuracy),
    };
    row(
        ("clock", "error of the clock, either way"),
        accuracy,
        Limit::None,
        Source::Computed,
        format!(
            "datasheet; a minute as written takes {least:.2} s to {most:.2} s, and the PWM runs at {} or more",
            clock.pwm.least
        ),
    )
}
