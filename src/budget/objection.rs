//! What the budget objects to, as diagnostics with the project's places.

use super::verdict::Verdict;
use super::{light, memory, time};
use crate::board;
use crate::design::Design;
use crate::diagnostic::{Diagnostic, Span};
use crate::emit::rust;
use crate::row::{Judgement, Limit, Row};

/// So many savings are named.
const SAVINGS: usize = 3;

/// An error for each row over its limit, a caution for each one near it.
pub fn objections(design: &Design, verdict: &Verdict) -> Vec<Diagnostic> {
    let worth_a_word = verdict
        .rows
        .iter()
        .filter(|row| row.verdict > Judgement::Fits);
    worth_a_word
        .filter_map(|row| objection(design, Some(verdict), row))
        .chain(board::objections(&verdict.board, &design.project))
        .collect()
}

/// What can be objected to firmware in Rust before it is compiled. How much flash and RAM it takes,
/// its own build checks.
pub fn objections_to_rust(design: &Design) -> Vec<Diagnostic> {
    let plan = &design.plan;
    let mut rows = time::interrupt(plan, rust::interrupt_cycles(design)).to_vec();
    rows.push(time::tick_error(plan));
    rows.extend(memory::eeprom(design).into_iter().flatten());
    rows.extend(light::rows(design));
    rows.iter()
        .filter(|row| row.verdict > Judgement::Fits)
        .filter_map(|row| objection(design, None, row))
        .collect()
}

/// `verdict` is needed for flash and RAM, of which it names the largest parts.
fn objection(design: &Design, verdict: Option<&Verdict>, row: &Row) -> Option<Diagnostic> {
    let over = row.verdict == Judgement::Over;
    let say = |code, span: Span, message: String| {
        if over {
            Diagnostic::error(code, span, message)
        } else {
            Diagnostic::caution(code, span, message)
        }
    };
    let project = &design.project;
    let chip = project.chip.span;
    let figure = row.figure;
    let (is, limit) = (if over { "more than" } else { "near" }, row.limit);
    let room = match limit {
        Limit::AtMost(limit) | Limit::AtLeast(limit) => limit.to_string(),
        Limit::None => return None,
    };
    Some(match row.name {
        "flash" | "ram" if over => {
            let verdict = verdict?;
            let title = verdict.chip;
            let kind = if row.name == "flash" { "flash" } else { "RAM" };
            let code = if row.name == "flash" { "B001" } else { "B002" };
            say(
                code,
                chip,
                format!("this does not fit: it takes {figure} of {kind}, and {title} has {room}"),
            )
            .label(largest(verdict, row.name))
            .maybe_hint(saving(verdict))
        }
        "flash" | "ram" => return None,
        "interrupt" => say(
            "B003",
            chip,
            format!("the PWM interrupt takes {figure}, {is} the {room} between two of them"),
        )
        .label(row.note.clone())
        .hint("fewer channels or a slower PWM leave it more time"),
        "tick" => say(
            "B004",
            project.tick.map_or(chip, |tick| tick.span),
            format!("a tick can take {figure}, {is} the {room} there are for it"),
        )
        .label(row.note.clone())
        .hint("a longer tick, a faster clock or fewer channels help"),
        "start" => say(
            "B005",
            chip,
            format!(
                "starting a pattern can take {figure}, {}",
                if over {
                    format!("so long that the watchdog ({room}) restarts the chip")
                } else {
                    "and the light stands still meanwhile".to_string()
                }
            ),
        )
        .label(row.note.clone())
        .hint(
            "a shorter round or wave, or a longer `tick`, shortens it: a channel that is a little \
             behind starts nearly a round ahead",
        ),
        "eeprom-wear" => say(
            "B006",
            chip,
            format!("the EEPROM would see {figure} a cell in ten years, {is} the {room} it stands"),
        )
        .label(row.note.clone())
        .hint("a longer `memory: {after: …}` saves writes"),
        "tick-error" => say(
            "B007",
            project.tick.map_or(chip, |tick| tick.span),
            format!("ticks are off by {figure}, {is} the {room} that go unnoticed"),
        )
        .hint("another `tick` may be nearer"),
        _ => return None,
    })
}

/// The largest parts, in words.
fn largest(verdict: &Verdict, row: &str) -> String {
    let mut parts: Vec<_> = if row == "flash" {
        verdict.flash.parts().to_vec()
    } else {
        verdict.ram.parts().to_vec()
    };
    parts.sort_by_key(|(_, bytes)| std::cmp::Reverse(*bytes));
    let parts: Vec<String> = parts
        .iter()
        .take(3)
        .map(|(name, bytes)| format!("{name} {bytes}"))
        .collect();
    format!("largest: {}", parts.join(", "))
}

fn saving(verdict: &Verdict) -> Option<String> {
    let savings: Vec<String> = verdict
        .savings
        .iter()
        .take(SAVINGS)
        .map(super::report::saving)
        .collect();
    (!savings.is_empty()).then(|| savings.join("; "))
}
