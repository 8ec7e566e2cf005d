//! The level of the brown-out detector: the chip must not run, and above all not write its EEPROM,
//! on less than its clock needs.

use super::ClockPlan;
use crate::chip::{BrownOut, Chip};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::Project;

/// The level asked for, or the highest that the clock's least supply allows. `None`: the detector
/// is off.
pub fn choose(
    chip: &'static Chip,
    project: &Project,
    clock: &ClockPlan,
    notes: &mut Notes,
) -> Option<&'static BrownOut> {
    let levels = &chip.brown_out;
    let Some(asked) = &project.brown_out else {
        let allowed = |level: &&BrownOut| level.volts <= clock.least_supply;
        return levels.iter().rev().find(allowed);
    };
    let wish = asked.value?;
    let found = levels
        .iter()
        .find(|level| (level.volts.0 - wish.0).abs() < 1e-9);
    if found.is_none() {
        let all: Vec<String> = levels.iter().map(|level| level.volts.to_string()).collect();
        let message = format!("the {} has no brown-out level of {wish}", chip.title);
        notes.add(
            Diagnostic::error("C018", asked.span, message)
                .label(format!("expected {}, or `off`", all.join(", ")))
                .hint("leave it out for the level that suits the clock"),
        );
    }
    found
}
