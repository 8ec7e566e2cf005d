//! The report for a review.

use super::{Difference, Fact, words};
use crate::escape::{code_span, line};

/// So many rows of a table are listed.
const ROWS: usize = 60;

/// The whole report.
pub fn markdown(difference: &Difference) -> String {
    let mut text = format!(
        "## Light: {} → {}\n\n**{}**\n",
        code_span(&difference.old),
        code_span(&difference.new),
        difference.summary
    );
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
    text += &facts("What it does by itself", &difference.conduct);
    text += &facts("Plan", &difference.plan);
    text += &tables(difference);
    text += &budget(difference);
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
    if difference.levels.is_empty() && difference.rows.is_empty() {
        return String::new();
    }
    let mut text = "\n### Tables\n".to_string();
    if !difference.levels.is_empty() {
        text += &format!(
            "\n{} brightness levels give another light.\n",
            difference.levels.len()
        );
    }
    if !difference.rows.is_empty() {
        text += "\n```diff\n";
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
            text += &format!("@@ and {} more @@\n", difference.rows.len() - ROWS);
        }
        text += "```\n";
    }
    text
}

fn budget(difference: &Difference) -> String {
    if difference.budget.is_empty() {
        return String::new();
    }
    let mut text =
        "\n### Budget\n\n| | before | after | difference |\n|---|--:|--:|--:|\n".to_string();
    for row in &difference.budget {
        text += &format!(
            "| {} | {} | {} | {} |\n",
            row.what,
            words::stand(row.old),
            words::stand(row.new),
            words::difference(row)
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
