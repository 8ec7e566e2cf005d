//! What the budget says, as data.

use serde::Serialize;

use super::{Flash, Ram, Saving};
use crate::board::Board;
use crate::diagnostic::Diagnostic;
use crate::row::{self, Judgement, Row};
use crate::units::Bytes;

/// The budget of a project.
#[derive(Debug, Clone, Serialize)]
pub struct Verdict {
    pub project: String,
    /// The chip, as its datasheet has it.
    pub chip: &'static str,
    /// What makes the light, why, and what that takes.
    pub drive: String,
    /// What clocks the pump beside a port, why, and what that takes.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pump: Option<String>,
    /// The worst of the rows.
    pub verdict: Judgement,
    pub rows: Vec<Row>,
    pub flash: Flash,
    pub ram: Ram,
    /// Flash of each pattern, largest first.
    pub patterns: Vec<(String, Bytes)>,
    /// What would make it smaller, most first; looked for only where it does not fit.
    pub savings: Vec<Saving>,
    /// Strings, pump, supply and battery, and what each pattern draws.
    pub board: Board,
}

impl Verdict {
    /// Whether nothing is over its limit.
    pub fn fits(&self) -> bool {
        self.verdict != Judgement::Over
    }

    /// An error for each row over its limit, a caution for each one near it.
    pub fn objections(&self) -> Vec<Diagnostic> {
        row::objections(&self.rows)
    }

    /// The row of this name.
    pub fn row(&self, name: &str) -> Option<&Row> {
        self.rows.iter().find(|row| row.name == name)
    }
}
