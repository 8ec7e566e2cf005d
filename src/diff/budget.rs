//! The budget before and after, row by row, and verdicts that differ.

use serde::Serialize;

use crate::budget::budget;
use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::row::{Judgement, Limit, Quantity, Row};

/// How a row of the budget stands in one version.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stand {
    pub figure: Quantity,
    pub limit: Limit,
    pub verdict: Judgement,
}

/// A row of the budget; `None`: the version has no such row.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BudgetChange {
    pub name: &'static str,
    pub what: &'static str,
    pub old: Option<Stand>,
    pub new: Option<Stand>,
    /// In the unit of the figures, where both have one.
    pub difference: Option<f64>,
}

impl BudgetChange {
    /// Whether figure, limit or verdict is another.
    pub fn differs(&self) -> bool {
        self.old != self.new
    }
}

/// Something that can hurt or fail, and whose verdict differs.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SafetyChange {
    pub what: String,
    /// Empty: nothing was said of it.
    pub old: String,
    pub new: String,
    pub worse: bool,
}

/// All rows, if any differs; and the verdicts and cautions that do.
pub(super) fn changes(old: &Design, new: &Design) -> (Vec<BudgetChange>, Vec<SafetyChange>) {
    let (before, after) = (budget(old), budget(new));
    let gone = before
        .rows
        .iter()
        .filter(|row| after.row(row.name).is_none());
    let rows: Vec<BudgetChange> = after
        .rows
        .iter()
        .chain(gone)
        .map(|row| change(row, before.row(row.name), after.row(row.name)))
        .collect();
    let mut safety: Vec<SafetyChange> = rows.iter().filter_map(verdict).collect();
    safety.extend(cautions(&old.plan.cautions, &new.plan.cautions));
    if !rows.iter().any(BudgetChange::differs) {
        (Vec::new(), safety)
    } else {
        (rows, safety)
    }
}

fn change(row: &Row, old: Option<&Row>, new: Option<&Row>) -> BudgetChange {
    let stand = |row: &Row| Stand {
        figure: row.figure,
        limit: row.limit,
        verdict: row.verdict,
    };
    BudgetChange {
        name: row.name,
        what: row.what,
        old: old.map(stand),
        new: new.map(stand),
        difference: old
            .zip(new)
            .map(|(old, new)| new.figure.value() - old.figure.value()),
    }
}

fn verdict(change: &BudgetChange) -> Option<SafetyChange> {
    let judged = |stand: Option<Stand>| stand.map(|stand| stand.verdict);
    let (old, new) = (judged(change.old), judged(change.new));
    let word = |verdict: Option<Judgement>| verdict.map_or_else(String::new, |v| v.to_string());
    let fits = |verdict: Option<Judgement>| verdict.unwrap_or(Judgement::Fits);
    (fits(old) != fits(new)).then(|| SafetyChange {
        what: change.what.to_string(),
        old: word(old),
        new: word(new),
        worse: fits(new) > fits(old),
    })
}

/// Cautions of the plan that are new, and those that are gone.
fn cautions(old: &[Diagnostic], new: &[Diagnostic]) -> Vec<SafetyChange> {
    let among = |cautions: &[Diagnostic], one: &Diagnostic| {
        cautions
            .iter()
            .any(|other| (other.code, &other.message) == (one.code, &one.message))
    };
    let say = |caution: &Diagnostic, worse: bool| {
        let said = "caution".to_string();
        let (old, new) = if worse {
            (String::new(), said)
        } else {
            (said, String::new())
        };
        SafetyChange {
            what: format!("{} ({})", caution.message, caution.code),
            old,
            new,
            worse,
        }
    };
    let come = new.iter().filter(|one| !among(old, one));
    let gone = old.iter().filter(|one| !among(new, one));
    come.map(|caution| say(caution, true))
        .chain(gone.map(|caution| say(caution, false)))
        .collect()
}
