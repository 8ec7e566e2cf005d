//! The report for a terminal.

use super::{Difference, Fact, RowChange, words};

/// So many rows of a table are listed.
const ROWS: usize = 40;
/// Columns of the budget.
const WHAT: usize = 34;
const FIGURE: usize = 18;
const DIFFERENCE: usize = 15;

/// The whole report: causes first, then what comes of them. `all`: also the rows of the budget that
/// are the same.
pub fn text(difference: &Difference, all: bool) -> String {
    let mut text = format!("- {}\n+ {}\n", difference.old, difference.new);
    if !difference.libraries.is_empty() {
        let names = difference.libraries.join(", ");
        text += &format!("  whose libraries differ: {names}\n");
    }
    text += &format!("\n{}\n", difference.summary);
    text += &safety(difference);
    text += &facts("plan", &difference.plan);
    text += &levels(difference);
    text += &facts("what it does by itself", &difference.conduct);
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
    text += &rows(&difference.rows);
    text += &budget(difference, all);
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
        text += &format!("  and {}\n", words::more(rows.len() - ROWS, "row"));
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

fn budget(difference: &Difference, all: bool) -> String {
    if difference.budget.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "\n{:<WHAT$}{:>FIGURE$}{:>FIGURE$}{:>DIFFERENCE$}  limit\n",
        "budget", "before", "after", "difference"
    );
    for row in words::told(difference, all) {
        let line = format!(
            "  {:<width$}{:>FIGURE$}{:>FIGURE$}{:>DIFFERENCE$}  {}",
            row.what,
            words::stand(row.old),
            words::stand(row.new),
            words::difference(row),
            words::limit(row),
            width = WHAT - 2
        );
        text += line.trim_end();
        text.push('\n');
    }
    let same = difference.budget.len() - words::told(difference, all).count();
    if same > 0 {
        text += &format!("  and {} as before: --all\n", words::more(same, "row"));
    }
    text
}
