//! What patterns of the old version are called in the new one, so that a new name alone does not
//! look like a change of shows and rows.

use super::PatternChange;
use crate::score::ProgramName;

/// Old names of renamed patterns, each with the new one.
#[derive(Debug, Default)]
pub(super) struct Names(Vec<(String, String)>);

impl Names {
    pub(super) fn of(changes: &[PatternChange]) -> Self {
        let renamed = changes
            .iter()
            .filter_map(|change| Some((change.was.clone()?, change.name.clone())));
        Self(renamed.collect())
    }

    /// A pattern of the old version, as the new one calls it.
    pub(super) fn pattern<'a>(&'a self, name: &'a str) -> &'a str {
        let mut renamed = self.0.iter();
        renamed
            .find(|(was, _)| was == name)
            .map_or(name, |(_, now)| now)
    }

    /// A program of the old version, likewise.
    pub(super) fn program(&self, name: &ProgramName) -> ProgramName {
        match name {
            ProgramName::Pattern { pattern, channel } => ProgramName::Pattern {
                pattern: self.pattern(pattern).to_string(),
                channel: channel.clone(),
            },
            name => name.clone(),
        }
    }
}
