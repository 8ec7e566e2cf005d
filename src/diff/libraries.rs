//! Which libraries a change is written in.

use std::collections::BTreeMap;
use std::path::Path;

use crate::diagnostic::{Source, Sources};

/// Libraries that differ, by name.
pub(super) fn changed(old: &Sources, new: &Sources) -> Vec<String> {
    let (before, after) = (texts(old), texts(new));
    let gone = before.keys().filter(|name| !after.contains_key(*name));
    let other = |(name, text): &(&String, &&str)| before.get(*name) != Some(*text);
    let changed = after.iter().filter(other).map(|(name, _)| name);
    let mut names: Vec<String> = changed.chain(gone).cloned().collect();
    names.sort();
    names
}

/// Libraries by what they are called from beside the project.
fn texts(sources: &Sources) -> BTreeMap<String, &str> {
    let mut all = sources.iter();
    let beside = all.next().and_then(|project| project.path.parent());
    let beside = beside.unwrap_or(Path::new(""));
    all.map(|source| (called(source, beside), source.text.as_str()))
        .collect()
}

fn called(source: &Source, beside: &Path) -> String {
    let path = source.path.strip_prefix(beside).unwrap_or(&source.path);
    path.display().to_string()
}
