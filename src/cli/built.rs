//! What a build tells: the files, and the budget, in one screen or as data.

use std::path::Path;

use serde::Serialize;

use duskloom::budget::{Style, Verdict, summary};
use duskloom::design::Design;

use super::folder::{Entry, State};

/// A build that went well.
pub(super) struct Built<'b> {
    pub design: &'b Design,
    pub folder: &'b Path,
    pub entries: &'b [Entry],
    /// Nothing was written, as nothing had to be.
    pub checked: bool,
    /// `None`: only tables and player.
    pub verdict: Option<&'b Verdict>,
    /// What else to know.
    pub next: &'b str,
}

/// `check` finds the same states and leaves the files as they are.
const FOUND: &[(&str, &str, &[State])] = &[
    ("unchanged", "unchanged", &[State::Same]),
    ("missing", "missing", &[State::Missing]),
    ("stale", "not as generated", &[State::Stale]),
    ("edited", "changed by hand", &[State::Edited]),
    (
        "left over",
        "no longer generated",
        &[State::LeftOver, State::EditedLeftOver],
    ),
];

/// What became of files, in the order in which a person is told.
const FATES: &[(&str, &str, &[State])] = &[
    (
        "wrote",
        "wrote",
        &[State::Missing, State::Stale, State::Edited],
    ),
    ("unchanged", "unchanged", &[State::Same]),
    ("removed", "removed", &[State::LeftOver]),
    (
        "kept",
        "kept, as changed by hand, though no longer generated",
        &[State::EditedLeftOver],
    ),
];

#[derive(Serialize)]
pub(super) struct Data<'b> {
    project: &'b str,
    chip: &'b str,
    folder: String,
    /// Whether all files are as they would be written; only when asked to check that.
    #[serde(skip_serializing_if = "Option::is_none")]
    up_to_date: Option<bool>,
    files: Vec<File<'b>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    budget: Option<&'b Verdict>,
}

#[derive(Serialize)]
struct File<'b> {
    path: &'b str,
    /// `wrote`, `unchanged`, `removed` or `kept`; when checked, `unchanged`, `missing`, `stale`,
    /// `edited` or `left over`.
    fate: &'static str,
}

impl Built<'_> {
    /// For a person.
    pub(super) fn text(&self) -> String {
        if self.checked {
            return format!("{} is up to date\n", self.folder.display());
        }
        let mut text = format!("{}\n", self.folder.display());
        for (_, what, states) in FATES {
            let names: Vec<&str> = self.files(states).collect();
            if !names.is_empty() {
                text += &format!("  {what}: {}\n", names.join(", "));
            }
        }
        text.push('\n');
        if let Some(verdict) = self.verdict {
            text += &summary(verdict, Style { ascii: false });
        }
        text + self.next
    }

    /// For a script.
    pub(super) fn data(&self) -> Data<'_> {
        let fates = if self.checked { FOUND } else { FATES };
        let same = |entry: &Entry| entry.state == State::Same;
        let files = fates.iter().flat_map(|(fate, _, states)| {
            let files = self.files(states);
            files.map(|path| File { path, fate })
        });
        Data {
            project: &self.design.project.name.value,
            chip: &self.design.plan.chip.title,
            folder: self.folder.display().to_string(),
            up_to_date: self.checked.then(|| self.entries.iter().all(same)),
            files: files.collect(),
            budget: self.verdict,
        }
    }

    fn files(&self, states: &[State]) -> impl Iterator<Item = &str> {
        self.entries
            .iter()
            .filter(move |entry| states.contains(&entry.state))
            .map(|entry| entry.path.as_str())
    }
}
