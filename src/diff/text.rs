//! The report for a terminal.

use super::{Difference, Fact, RowChange, words};

/// So many rows of a table are listed.
const ROWS: usize = 40;
/// Columns of the budget.
const WHAT: usize = 34;
const FIGURE: usize = 22;

/// The whole report.
pub fn text(difference: &Difference) -> String {
    let mut text = format!(
        "- {}\n+ {}\n\n{}\n",
        difference.old, difference.new, difference.summary
    );
    text += &safety(difference);
    for pattern in &difference.patterns {
        text += &format!("\n{}: {}\n", pattern.name, words::heading(pattern));
        if let Some(caveat) = words::caveat(pattern) {
            text += &format!("  {caveat}\n");
        }
        for change in &pattern.channels {
            text += &format!("  {}\n", change.channel);
            for line in words::channel(change) {
                text += &format!("    {line}\n");
            }
        }
        if !pattern.timelines.is_empty() {
            text.push('\n');
            text += &pattern.timelines;
        }
    }
    text += &facts("what it does by itself", &difference.conduct);
    text += &facts("plan", &difference.plan);
    text += &levels(difference);
    text += &rows(&difference.rows);
    text += &budget(difference);
    text
}

fn safety(difference: &Difference) -> String {
    if difference.safety.is_empty() {
        return String::new();
    }
    let mut text = "\nverdicts and cautions\n".to_string();
    for change in &difference.safety {
        let mark = if change.worse { '!' } else { ' ' };
        text += &format!(
            "{mark} {}: {}\n",
            change.what,
            from_to(&change.old, &change.new)
        );
    }
    text
}

fn from_to(old: &str, new: &str) -> String {
    match (old, new) {
        ("", new) => format!("now {new}"),
        (old, "") => format!("no longer {old}"),
        (old, new) => format!("{old} → {new}"),
    }
}

fn facts(title: &str, facts: &[Fact]) -> String {
    if facts.is_empty() {
        return String::new();
    }
    let mut text = format!("\n{title}\n");
    for fact in facts {
        text += &format!("  {:<26}{}\n", fact.what, from_to(&fact.old, &fact.new));
    }
    text
}

fn levels(difference: &Difference) -> String {
    let levels = &difference.levels;
    let (Some(first), Some(last)) = (levels.first(), levels.last()) else {
        return String::new();
    };
    format!(
        "\nbrightness table: {} of its levels give another light, from {} to {}\n",
        levels.len(),
        first.level.0,
        last.level.0
    )
}

fn rows(rows: &[RowChange]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let added = rows.iter().filter(|row| row.added).count();
    let mut text = format!(
        "\nprograms: {added} rows added, {} removed\n",
        rows.len() - added
    );
    let mut program = "";
    for row in rows.iter().take(ROWS) {
        if row.program != program {
            program = &row.program;
            text += &format!("  {program}:\n");
        }
        let sign = if row.added { '+' } else { '-' };
        text += format!("  {sign} {:<30}{}", row.text, comment(&row.note)).trim_end();
        text.push('\n');
    }
    if rows.len() > ROWS {
        text += &format!("  and {} more\n", rows.len() - ROWS);
    }
    text
}

fn comment(note: &str) -> String {
    if note.is_empty() {
        String::new()
    } else {
        format!("  ; {note}")
    }
}

fn budget(difference: &Difference) -> String {
    if difference.budget.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "\n{:<WHAT$}{:>FIGURE$}{:>FIGURE$}{:>16}\n",
        "budget", "before", "after", "difference"
    );
    for row in &difference.budget {
        text += &format!(
            "  {:<width$}{:>FIGURE$}{:>FIGURE$}{:>16}\n",
            row.what,
            words::stand(row.old),
            words::stand(row.new),
            words::difference(row),
            width = WHAT - 2
        );
    }
    text
}
