//! What both reports say in the same words.

use crate::row::Judgement;
use crate::units::Time;

use super::strings;
use super::{BudgetChange, ChangeKind, ChannelChange, Difference, PatternChange, Stand};

/// So many spans of a channel are listed.
const SPANS: usize = 4;

/// The whole in a sentence.
pub(super) fn summary(difference: &Difference) -> String {
    if difference.is_none() {
        return "Nothing differs: the same light from the same firmware.".to_string();
    }
    if !difference.light_differs && strings::at_the_leds(&difference.budget) {
        return "The light stays as it is at the pins, but not at the LEDs; what differs is below."
            .to_string();
    }
    if !difference.light_differs {
        return "The light stays as it is; what differs is below.".to_string();
    }
    let count = |kind: ChangeKind, word: &str| {
        let found = difference.patterns.iter();
        match found.filter(|pattern| pattern.kind == kind).count() {
            0 => None,
            1 => Some(format!("1 pattern {word}")),
            n => Some(format!("{n} patterns {word}")),
        }
    };
    let mut parts: Vec<String> = [
        count(ChangeKind::Added, "added"),
        count(ChangeKind::Removed, "removed"),
        count(ChangeKind::Changed, "changed"),
        count(ChangeKind::Renamed, "renamed"),
    ]
    .into_iter()
    .flatten()
    .collect();
    if !difference.conduct.is_empty() {
        parts.push("what it does by itself".to_string());
    }
    if parts.is_empty() {
        parts.push("steady levels".to_string());
    }
    let same = match difference.same_patterns {
        0 => String::new(),
        1 => "; 1 pattern plays the same".to_string(),
        n => format!("; {n} patterns play the same"),
    };
    format!("The light changes: {}{same}.", parts.join(", "))
}

/// A pattern's heading.
pub(super) fn heading(pattern: &PatternChange) -> String {
    let round = &pattern.round;
    match pattern.kind {
        ChangeKind::Added => format!("added, a round of {}", round.new),
        ChangeKind::Removed => format!("removed, a round of {}", round.old),
        ChangeKind::Renamed => match &pattern.was {
            Some(was) => format!("renamed, was `{was}`; it plays the same"),
            None => "renamed; it plays the same".to_string(),
        },
        ChangeKind::Changed if round.old == round.new => {
            format!("changed, a round of {} as before", round.new)
        }
        ChangeKind::Changed => {
            format!("changed, a round of {} instead of {}", round.new, round.old)
        }
    }
}

/// What to know of a comparison.
pub(super) fn caveat(pattern: &PatternChange) -> Option<String> {
    let said = |seconds: f64| Time((seconds * 1e9).round() as u64).to_string();
    match (pattern.kind, pattern.random) {
        (ChangeKind::Changed, true) => Some(format!(
            "it draws at random: these are the first {} of a new chip, one course of many",
            said(pattern.compared)
        )),
        (ChangeKind::Changed, false) => {
            Some(format!("its first {} side by side", said(pattern.compared)))
        }
        _ => None,
    }
}

/// How a channel differs, in lines.
pub(super) fn channel(change: &ChannelChange) -> Vec<String> {
    let mut lines = Vec::new();
    for span in change.spans.iter().take(SPANS) {
        lines.push(format!(
            "{} to {}: {}",
            moment(span.from),
            moment(span.to),
            brighter(span.most.0)
        ));
    }
    match change.spans.len() {
        0 => lines.push(format!(
            "{} at most, at {}: too little to see",
            brighter(change.most.0),
            moment(change.most_at)
        )),
        n if n > SPANS => lines.push(format!(
            "and {}; most at {}: {}",
            more(n - SPANS, "span"),
            moment(change.most_at),
            brighter(change.most.0)
        )),
        _ => {}
    }
    if let Some((shift, at)) = change.later {
        let word = if shift > 0.0 { "later" } else { "earlier" };
        lines.push(format!(
            "steps begin up to {} {word} (the one at {})",
            duration(shift.abs()),
            moment(at)
        ));
    }
    let [before, after] = change.mean;
    if (before.0 - after.0).abs() >= 0.1 {
        lines.push(format!(
            "L* {:.1} on average, before {:.1}",
            after.0, before.0
        ));
    }
    lines
}

fn brighter(by: f64) -> String {
    let word = if by > 0.0 { "brighter" } else { "darker" };
    format!("up to {:.1} L* {word}", by.abs())
}

/// A moment since the pattern's start.
fn moment(seconds: f64) -> String {
    format!("{seconds:.2} s")
}

fn duration(seconds: f64) -> String {
    Time((seconds * 1e6).round() as u64 * 1000).to_string()
}

/// A row's figure in one version, with its verdict if that is not good.
pub(super) fn stand(stand: Option<Stand>) -> String {
    match stand {
        None => "-".to_string(),
        Some(stand) => match stand.verdict {
            Judgement::Fits => stand.figure.to_string(),
            verdict => format!("{} ({verdict})", stand.figure),
        },
    }
}

/// The limit of a row, and what it was where that differs.
pub(super) fn limit(change: &BudgetChange) -> String {
    let [old, new] = [change.old, change.new].map(|stand| stand.map(|stand| stand.limit.text()));
    match (old, new) {
        (Some(old), Some(new)) if old != new && !old.is_empty() => format!("{new}, was {old}"),
        (_, Some(new)) => new,
        (old, None) => old.unwrap_or_default(),
    }
}

/// The rows of the budget that are told: those that differ, or all.
pub(super) fn told(difference: &Difference, all: bool) -> impl Iterator<Item = &BudgetChange> {
    let rows = difference.budget.iter();
    rows.filter(move |row| all || row.differs())
}

/// `and 1 more row`, without the `and`.
pub(super) fn more(count: usize, what: &str) -> String {
    match count {
        1 => format!("1 more {what}"),
        _ => format!("{count} more {what}s"),
    }
}

/// The difference of a row, in its unit.
pub(super) fn difference(change: &BudgetChange) -> String {
    let (Some(by), Some(new)) = (change.difference, change.new) else {
        return "-".to_string();
    };
    if by == 0.0 {
        return "same".to_string();
    }
    let sign = if by < 0.0 { "−" } else { "+" };
    format!("{sign}{}", new.figure.with_value(by.abs()))
}
