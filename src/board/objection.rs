//! What the board's rows object to, as diagnostics with the project's places.

use super::Board;
use crate::diagnostic::{Diagnostic, Span};
use crate::row::{Judgement, Limit, Row};
use crate::spec::Project;

/// An error for each row over its limit, a caution for each one that needs a word.
pub fn objections(board: &Board, project: &Project) -> Vec<Diagnostic> {
    let worth_a_word = board
        .rows
        .iter()
        .filter(|row| row.verdict > Judgement::Fits);
    worth_a_word
        .filter_map(|row| {
            let topic = Topic::of(row.name, board, project)?;
            Some(topic.diagnostic(row))
        })
        .collect()
}

/// Where a row's fault lies, and what helps.
struct Topic {
    code: &'static str,
    span: Span,
    hint: &'static str,
}

impl Topic {
    fn of(row: &str, board: &Board, project: &Project) -> Option<Self> {
        let electrics = &project.electrics;
        let supply = || electrics.supply.as_ref().map(|supply| supply.span);
        let pump = || electrics.pump.as_ref().map(|pump| pump.span);
        let chip = project.chip.span;
        let (code, span, hint) = match row {
            "modulation" => (
                "E040",
                project.pwm.slowest.span,
                "less depth in time, or a faster PWM, flickers less",
            ),
            "pattern-flicker" => (
                "E043",
                pattern(wobbling(board)?, project).unwrap_or(chip),
                "flicker that is not seen as movement can still tire, and give headaches",
            ),
            "flashes" => (
                "E041",
                pattern(&board.busiest().name, project).unwrap_or(chip),
                match board.busiest().accepted {
                    false => {
                        "slow it down or dim it: such flashes can set off seizures; \
                         `flashing: accepted` in the pattern builds it all the same"
                    }
                    true => "as accepted; show it only to people who know and agree",
                },
            ),
            "flashes-at-changes" => (
                "E042",
                project.change_fade.span,
                "a longer `change_fade` keeps what flashes in the one apart from the other",
            ),
            "led" => (
                "E023",
                switched(board, project).unwrap_or(chip),
                "another way to drive it, a quicker part, or a slower PWM",
            ),
            "package" => (
                "E008",
                chip,
                "switch strings with transistors, or light fewer at once",
            ),
            "supply-peak" => (
                "E015",
                supply()?,
                "less current a string, a lower `ceiling`, or a stronger supply",
            ),
            "regulator" => (
                "E016",
                supply()?,
                "a lower input, strings `from: input`, a heat sink, or a switching regulator",
            ),
            "pump" => (
                "E021",
                pump()?,
                "measure the voltage on the bench before you trust it",
            ),
            "pump-pin" => (
                "E022",
                pump()?,
                match board.pump.as_ref().and_then(|pump| pump.gentle) {
                    Some(gentle) if gentle.useful => {
                        "a `resistor` at the pump's pins, less current on it, or fewer stages"
                    }
                    _ => {
                        "less current on the pump, or fewer stages; smaller capacitors strain \
                         its pins for a shorter time when it starts"
                    }
                },
            ),
            _ => return None,
        };
        Some(Self { code, span, hint })
    }

    fn diagnostic(self, row: &Row) -> Diagnostic {
        let over = row.verdict == Judgement::Over;
        let room = match row.limit {
            Limit::AtMost(limit) if row.beyond() => format!(", more than {limit}"),
            Limit::AtMost(limit) => format!(", of at most {limit}"),
            Limit::AtLeast(limit) => format!(", less than {limit}"),
            Limit::None => String::new(),
        };
        let message = format!("{}: {}{room}", row.what, row.figure);
        let say = if over {
            Diagnostic::error
        } else {
            Diagnostic::caution
        };
        say(self.code, self.span, message)
            .label(row.note.clone())
            .hint(self.hint)
    }
}

/// The string whose light is furthest off.
fn switched(board: &Board, project: &Project) -> Option<Span> {
    let lamp = super::lamp::worst(&board.lamps)?;
    let string = project.electrics.strings[lamp.channel].as_ref()?;
    Some(string.span)
}

/// The pattern with the most harmful flicker of its own.
fn wobbling(board: &Board) -> Option<&str> {
    let all = board
        .scenes
        .iter()
        .filter_map(|scene| Some((scene.wobble?, scene.name.as_str())));
    let worst = all.max_by(|a, b| a.0.component.by_harm(&b.0.component))?;
    Some(worst.1)
}

/// Where a pattern is named.
fn pattern(name: &str, project: &Project) -> Option<Span> {
    let mut patterns = project.patterns.iter();
    let pattern = patterns.find(|pattern| pattern.name.value == name)?;
    Some(pattern.name.span)
}
