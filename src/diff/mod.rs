//! What changes between two versions of a project, in the terms of the person who looks at it.
//!
//! ```text
//! Design, Design ─light, facts, tables, budget→ Difference ─text, markdown→ report
//! ```
//!
//! Patterns whose programs, start and light are the same play the same, whatever else changes; the
//! others are played by the model, side by side.

mod budget;
mod course;
mod facts;
mod libraries;
mod light;
mod markdown;
mod names;
mod pair;
mod strings;
mod tables;
mod text;
mod words;

use serde::Serialize;

use crate::design::Design;
use crate::preview::Style;
use crate::units::{DeltaLightness, Lightness};

pub use budget::{BudgetChange, SafetyChange, Stand};
pub use light::ChangeKind;
pub use markdown::markdown;
pub use pair::STYLE;
pub use tables::{LevelChange, RowChange};
pub use text::text;

/// All that differs.
#[derive(Debug, Clone, Serialize)]
pub struct Difference {
    /// What the person called the versions.
    pub old: String,
    pub new: String,
    /// Libraries whose text differs, or that only one version has, as they are called from beside the
    /// project.
    pub libraries: Vec<String>,
    /// In one sentence.
    pub summary: String,
    /// Whether anything that can be seen differs: patterns, levels, or what the light does by itself.
    pub light_differs: bool,
    /// Those that differ or have another name, in the new order; removed ones last.
    pub patterns: Vec<PatternChange>,
    /// How many patterns play the same.
    pub same_patterns: usize,
    /// Shows, button, memory: what it does by itself.
    pub conduct: Vec<Fact>,
    /// Chip, clock, timers, pins, brightness.
    pub plan: Vec<Fact>,
    /// Brightness levels that give another light.
    pub levels: Vec<LevelChange>,
    /// Rows of the programs.
    pub rows: Vec<RowChange>,
    /// Every row of the budget; empty if none differs.
    pub budget: Vec<BudgetChange>,
    /// Verdicts that differ, and cautions that come or go.
    pub safety: Vec<SafetyChange>,
}

/// Something that is stated before and after. An empty text: there is no such thing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fact {
    pub what: String,
    pub old: String,
    pub new: String,
}

/// A pattern that looks different, or has another name.
#[derive(Debug, Clone, Serialize)]
pub struct PatternChange {
    pub name: String,
    /// Its name before, where only that differs.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub was: Option<String>,
    pub kind: ChangeKind,
    /// The length of a round; empty where there is no such pattern.
    pub round: Fact,
    /// Something in it is drawn by the chip, so what follows is one course of many.
    pub random: bool,
    /// Seconds that were played side by side.
    pub compared: f64,
    /// The channels that differ.
    pub channels: Vec<ChannelChange>,
    /// Both timelines, one above the other, with the changed spans marked.
    pub timelines: String,
}

impl PatternChange {
    /// Whether more than its name differs.
    fn is_seen(&self) -> bool {
        self.kind != ChangeKind::Renamed
    }
}

/// How a channel of a pattern differs.
#[derive(Debug, Clone, Serialize)]
pub struct ChannelChange {
    pub channel: String,
    /// The largest difference, and when, in seconds.
    pub most: DeltaLightness,
    pub most_at: f64,
    /// When it differs visibly.
    pub spans: Vec<SpanChange>,
    /// Over all that was played.
    pub mean: [Lightness; 2],
    /// How much later steps begin, where each has its counterpart: the largest shift and when, in
    /// seconds.
    pub later: Option<(f64, f64)>,
}

/// A span in which a channel differs visibly.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpanChange {
    /// Seconds since the pattern's start.
    pub from: f64,
    pub to: f64,
    /// The largest difference within: negative is darker.
    pub most: DeltaLightness,
}

impl Difference {
    /// What is told of patterns of these names alone.
    #[must_use]
    pub fn of(self, names: &[String]) -> Self {
        let all = self.patterns.into_iter();
        let asked = |name: &String| names.contains(name);
        let patterns: Vec<PatternChange> = all
            .filter(|change| asked(&change.name) || change.was.as_ref().is_some_and(asked))
            .collect();
        let mut only = Self {
            libraries: Vec::new(),
            light_differs: patterns.iter().any(PatternChange::is_seen),
            same_patterns: names.len().saturating_sub(patterns.len()),
            patterns,
            conduct: Vec::new(),
            plan: Vec::new(),
            levels: Vec::new(),
            rows: Vec::new(),
            budget: Vec::new(),
            safety: Vec::new(),
            ..self
        };
        only.summary = match only.patterns.is_empty() {
            true => format!("Of {}, nothing differs.", names.join(", ")),
            false => words::summary(&only),
        };
        only
    }

    /// Whether the versions come to the same.
    pub fn is_none(&self) -> bool {
        !self.light_differs
            && self.patterns.is_empty()
            && self.plan.is_empty()
            && self.levels.is_empty()
            && self.rows.is_empty()
            && self.budget.is_empty()
            && self.safety.is_empty()
    }
}

/// Compares two versions, each with what the person calls it.
pub fn diff(old: (&str, &Design), new: (&str, &Design)) -> Difference {
    diff_drawn(old, new, &STYLE)
}

/// The same, with timelines in a style.
pub fn diff_drawn(
    (old_name, old): (&str, &Design),
    (new_name, new): (&str, &Design),
    style: &Style,
) -> Difference {
    let (patterns, same_patterns) = light::patterns(old, new, style);
    let names = names::Names::of(&patterns);
    let conduct = facts::conduct(old, new, &names);
    let (budget, safety) = budget::changes(old, new);
    let mut difference = Difference {
        old: old_name.to_string(),
        new: new_name.to_string(),
        libraries: libraries::changed(&old.project.sources, &new.project.sources),
        summary: String::new(),
        light_differs: patterns.iter().any(PatternChange::is_seen)
            || !conduct.is_empty()
            || !light::same_steady(old, new),
        patterns,
        same_patterns,
        conduct,
        plan: facts::plan(old, new, &names),
        levels: tables::levels(old, new),
        rows: tables::rows(old, new, &names),
        budget,
        safety,
    };
    difference.summary = words::summary(&difference);
    difference
}
