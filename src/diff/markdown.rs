//! The report for a review.

use super::{Difference, Fact, words};
use crate::escape::{code_span, line};

/// So many rows of a table are listed.
const ROWS: usize = 60;

/// The whole report: causes first, then what comes of them. `all`: also the rows of the budget that
/// are the same.
pub fn markdown(difference: &Difference, all: bool) -> String {
    let mut text = format!(
        "## Light: {} → {}\n\n**{}**\n",
        code_span(&difference.old),
        code_span(&difference.new),
        difference.summary
    );
    if !difference.libraries.is_empty() {
        let names: Vec<String> = difference
            .libraries
            .iter()
            .map(|name| code_span(name))
            .collect();
        text += &format!("\nLibraries that differ: {}\n", names.join(", "));
    }
    if !difference.safety.is_empty() {
        text += "\n### Verdicts and cautions\n\n| | before | after |\n|---|---|---|\n";
        for change in &difference.safety {
            let mark = if change.worse { "⚠️ " } else { "" };
            text += &format!(
                "| {mark}{} | {} | {} |\n",
                cell(&change.what),
                or_dash(&change.old),
                or_dash(&change.new)
            );
        }
    }
    text += &facts("Plan", &difference.plan);
    if !difference.levels.is_empty() {
        text += &format!(
            "\n{} brightness levels give another light.\n",
            difference.levels.len()
        );
    }
    text += &facts("What it does by itself", &difference.conduct);
    for pattern in &difference.patterns {
        text += &format!("\n### `{}`: {}\n\n", pattern.name, words::heading(pattern));
        for change in &pattern.channels {
            let lines = words::channel(change).join("; ");
            text += &format!("- **{}** {lines}\n", change.channel);
        }
        if let Some(caveat) = words::caveat(pattern) {
            text += &format!("\n_{caveat}_\n");
        }
        if !pattern.timelines.is_empty() {
            text += &format!("\n```text\n{}```\n", pattern.timelines);
        }
    }
    text += &tables(difference);
    text += &budget(difference, all);
    text
}

fn facts(title: &str, facts: &[Fact]) -> String {
    if facts.is_empty() {
        return String::new();
    }
    let mut text = format!("\n### {title}\n\n| | before | after |\n|---|---|---|\n");
    for fact in facts {
        text += &format!(
            "| {} | {} | {} |\n",
            cell(&fact.what),
            or_dash(&fact.old),
            or_dash(&fact.new)
        );
    }
    text
}

fn tables(difference: &Difference) -> String {
    if difference.rows.is_empty() {
        return String::new();
    }
    let mut text = "\n### Tables\n\n```diff\n".to_string();
    let mut program = "";
    for row in difference.rows.iter().take(ROWS) {
        if row.program != program {
            program = &row.program;
            text += &format!("@@ {program} @@\n");
        }
        let sign = if row.added { '+' } else { '-' };
        text += format!("{sign} {:<30}  ; {}", row.text, row.note).trim_end();
        text.push('\n');
    }
    if difference.rows.len() > ROWS {
        let more = words::more(difference.rows.len() - ROWS, "row");
        text += &format!("@@ and {more} @@\n");
    }
    text + "```\n"
}

fn budget(difference: &Difference, all: bool) -> String {
    if difference.budget.is_empty() {
        return String::new();
    }
    let mut text =
        "\n### Budget\n\n| | before | after | difference | limit |\n|---|--:|--:|--:|---|\n"
            .to_string();
    for row in words::told(difference, all) {
        text += &format!(
            "| {} | {} | {} | {} | {} |\n",
            row.what,
            words::stand(row.old),
            words::stand(row.new),
            words::difference(row),
            words::limit(row)
        );
    }
    text
}

/// Text that stays within its cell.
fn cell(text: &str) -> String {
    line(text).replace('|', "\\|")
}

fn or_dash(text: &str) -> String {
    if text.is_empty() {
        "–".to_string()
    } else {
        cell(text)
    }
}
