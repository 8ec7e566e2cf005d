//! The budget as a person reads it: one screen.

use super::savings::Saving;
use super::verdict::Verdict;
use crate::row::{Judgement, Limit, Row};
use crate::units::Bytes;

/// How the report is drawn.
#[derive(Debug, Clone, Copy, Default)]
pub struct Style {
    /// Only ASCII.
    pub ascii: bool,
}

/// Width of a bar in characters.
const BAR: usize = 40;
/// The same where each row has one.
const SHORT_BAR: usize = 16;
/// Columns of the rows.
const WHAT: usize = 36;
const FIGURE: usize = 14;
const LIMIT: usize = 19;
/// So many patterns and savings are listed.
const LISTED: usize = 8;

/// The report.
pub fn report(verdict: &Verdict, style: Style) -> String {
    let mut text = format!(
        "{} on {}: {}\n\n",
        verdict.project,
        verdict.chip,
        headline(verdict)
    );
    text += &format!("light by {}\n", verdict.drive);
    if let Some(pump) = &verdict.pump {
        text += &format!("charge pump at {pump}\n");
    }
    text.push('\n');
    for (title, row, parts) in [
        ("flash", "flash", verdict.flash.parts().to_vec()),
        ("RAM", "ram", verdict.ram.parts().to_vec()),
    ] {
        if let Some(row) = verdict.row(row) {
            text += &memory(title, row, &parts, style);
        }
    }
    text += &format!(
        "{:<WHAT$}{:>FIGURE$}  {:<LIMIT$}{:<9}{}\n",
        "", "figure", "limit", "verdict", "source"
    );
    for row in &verdict.rows {
        text += &line(row, style);
    }
    let notes = verdict
        .rows
        .iter()
        .filter(|row| row.verdict > Judgement::Fits && !row.note.is_empty());
    for row in notes {
        text += &format!("\n{}: {}: {}\n", row.verdict, row.what, row.note);
    }
    text += &help(verdict);
    text
}

/// The rows alone, a line each, with how much of its limit each uses.
pub fn summary(verdict: &Verdict, style: Style) -> String {
    let mut text = format!(
        "{} on {}: {}\n",
        verdict.project,
        verdict.chip,
        headline(verdict)
    );
    for row in &verdict.rows {
        let used = row.limit.used(row.figure.value());
        let used = used.map_or_else(String::new, |used| {
            let percent = (used * 100.0).ceil();
            format!("{}{percent:>5} %", bar(used, SHORT_BAR, style))
        });
        let mark = match row.verdict {
            Judgement::Fits => String::new(),
            other => format!("  {other}"),
        };
        text += format!(
            "  {:<WHAT$}{used:<width$}{:>FIGURE$}  {:<LIMIT$}{mark}",
            row.what,
            row.figure.to_string(),
            limit(row, style),
            width = SHORT_BAR + 7,
        )
        .trim_end();
        text.push('\n');
    }
    text
}

fn headline(verdict: &Verdict) -> &'static str {
    match verdict.verdict {
        Judgement::Fits => "fits",
        Judgement::Caution => "fits, with a caution",
        Judgement::Over => "does not fit",
    }
}

fn memory(title: &str, row: &Row, parts: &[(&str, Bytes)], style: Style) -> String {
    let Limit::AtMost(limit) = row.limit else {
        return String::new();
    };
    let share = row.figure.value() / limit.value();
    let mut text = format!(
        "{title:<6}{} {:>4.0} %  {} of {limit}\n",
        bar(share, BAR, style),
        (share * 100.0).ceil(),
        row.figure
    );
    for (name, bytes) in parts.iter().filter(|(_, bytes)| bytes.0 > 0) {
        text += &format!("      {name:<32}{:>8}\n", bytes.to_string());
    }
    text + "\n"
}

/// A bar that is full at the limit, and says so beyond it.
fn bar(share: f64, width: usize, style: Style) -> String {
    let (full, empty, beyond) = if style.ascii {
        ('#', '.', '>')
    } else {
        ('█', '░', '▶')
    };
    let filled = ((share * width as f64).round() as usize).min(width);
    let mut bar: String = (0..width)
        .map(|i| if i < filled { full } else { empty })
        .collect();
    if share > 1.0 {
        bar.pop();
        bar.push(beyond);
    }
    bar
}

fn line(row: &Row, style: Style) -> String {
    let limit = limit(row, style);
    format!(
        "{:<WHAT$}{:>FIGURE$}  {limit:<LIMIT$}{:<9}{}\n",
        row.what,
        row.figure.to_string(),
        row.verdict,
        row.source
    )
}

fn limit(row: &Row, style: Style) -> String {
    match (row.limit, style.ascii) {
        (Limit::AtMost(limit), true) => format!("<= {limit}"),
        (Limit::AtMost(limit), false) => format!("≤ {limit}"),
        (Limit::AtLeast(limit), true) => format!(">= {limit}"),
        (Limit::AtLeast(limit), false) => format!("≥ {limit}"),
        (Limit::None, _) => String::new(),
    }
}

/// What to do where it does not fit.
fn help(verdict: &Verdict) -> String {
    if verdict.fits() {
        return String::new();
    }
    let mut text = String::new();
    if !verdict.patterns.is_empty() {
        text += "\nlargest patterns:\n";
        for (name, bytes) in verdict.patterns.iter().take(LISTED) {
            text += &format!("      {name:<32}{:>8}\n", bytes.to_string());
        }
    }
    if !verdict.savings.is_empty() {
        text += "\nwhat would save how much:\n";
        for one in verdict.savings.iter().take(LISTED) {
            text += &format!("      {}\n", saving(one));
        }
    }
    text
}

/// An idea and what it brings, in words.
pub(super) fn saving(saving: &Saving) -> String {
    let mut gains = Vec::new();
    if saving.flash.0 > 0 {
        gains.push(format!("{} of flash", saving.flash));
    }
    if saving.ram.0 > 0 {
        gains.push(format!("{} of RAM", saving.ram));
    }
    let enough = if saving.enough {
        ", and then it fits"
    } else {
        ""
    };
    format!("{}: {} less{enough}", saving.idea, gains.join(" and "))
}
