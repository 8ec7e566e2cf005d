//! What patterns of the old version are called in the new one, so that a new name alone does not
//! look like a change of shows and rows.

use super::PatternChange;

/// Old names of renamed patterns, each with the new one.
#[derive(Debug, Default)]
pub struct Names(Vec<(String, String)>);

impl Names {
    pub fn of(changes: &[PatternChange]) -> Self {
        let renamed = changes
            .iter()
            .filter_map(|change| Some((change.was.clone()?, change.name.clone())));
        Self(renamed.collect())
    }

    /// A pattern of the old version, as the new one calls it.
    pub fn pattern<'a>(&'a self, name: &'a str) -> &'a str {
        let mut renamed = self.0.iter();
        renamed
            .find(|(was, _)| was == name)
            .map_or(name, |(_, now)| now)
    }

    /// A program of the old version: its name is its pattern's, and what tells several apart.
    pub fn program(&self, label: &str) -> String {
        let as_label = |name: &str| name.replace('-', "_");
        for (was, now) in &self.0 {
            if let Some(rest) = label.strip_prefix(&as_label(was))
                && (rest.is_empty() || rest.starts_with('_'))
            {
                return as_label(now) + rest;
            }
        }
        label.to_string()
    }
}
