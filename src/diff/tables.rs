//! Rows of the tables that differ: brightness levels, and operations of the programs.

use serde::Serialize;
use similar::{ChangeTag, TextDiff};

use super::names::Names;
use crate::design::Design;
use crate::score::Listed;
use crate::units::{Duty, Level};

/// A level that gives another light; `None`: the version has no such level.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct LevelChange {
    pub level: Level,
    pub old: Option<Duty>,
    pub new: Option<Duty>,
}

/// A row that only one version has.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RowChange {
    /// Among that version's rows, from 1.
    pub row: usize,
    /// The program it is in.
    pub program: String,
    pub added: bool,
    /// As in the generated table.
    pub text: String,
    /// What it means.
    pub note: String,
}

/// The levels that differ, before any trim.
pub(super) fn levels(old: &Design, new: &Design) -> Vec<LevelChange> {
    let duty = |design: &Design, level: Level| {
        let there = usize::from(level.0) < design.scale.count();
        there.then(|| design.deck.light.duty(level))
    };
    (0..old.scale.count().max(new.scale.count()))
        .map(|at| Level(at as u8))
        .map(|level| LevelChange {
            level,
            old: duty(old, level),
            new: duty(new, level),
        })
        .filter(|change| change.old != change.new)
        .collect()
}

/// The rows of programs that differ, by the shortest way from one to the other.
pub(super) fn rows(old: &Design, new: &Design, names: &Names) -> Vec<RowChange> {
    let before = written(old, names);
    let after = written(new, &Names::default());
    let texts = |rows: &[Written]| -> Vec<String> {
        rows.iter()
            .map(|row| format!("{}: {}", row.program, row.text))
            .collect()
    };
    let (old_texts, new_texts) = (texts(&before), texts(&after));
    let old_texts: Vec<&str> = old_texts.iter().map(String::as_str).collect();
    let new_texts: Vec<&str> = new_texts.iter().map(String::as_str).collect();
    let diff = TextDiff::from_slices(&old_texts, &new_texts);
    diff.iter_all_changes()
        .filter_map(|change| {
            let (rows, at, added) = match change.tag() {
                ChangeTag::Delete => (&before, change.old_index()?, false),
                ChangeTag::Insert => (&after, change.new_index()?, true),
                ChangeTag::Equal => return None,
            };
            let row = &rows[at];
            Some(RowChange {
                row: at + 1,
                program: row.program.clone(),
                added,
                text: row.text.clone(),
                note: row.note.clone(),
            })
        })
        .collect()
}

struct Written {
    program: String,
    text: String,
    note: String,
}

fn written(design: &Design, called: &Names) -> Vec<Written> {
    let image = &design.deck.image;
    let row = |row: &Listed| {
        let was = &image.score.programs[row.program].name;
        let name = called.program(was);
        // Places within the program have its name too.
        let operand = |operand: &String| match operand.strip_prefix(&was.label()) {
            Some(place) => name.label() + place,
            None => operand.clone(),
        };
        let operands: Vec<String> = row.operands.iter().map(operand).collect();
        let text = format!("{:<9} {}", row.mnemonic, operands.join(", "));
        Written {
            program: name.to_string(),
            text: text.trim_end().to_string(),
            note: row.note.clone(),
        }
    };
    image.rows.iter().map(row).collect()
}
