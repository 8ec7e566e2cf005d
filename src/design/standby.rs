//! Before the light goes off, all that it remembers is saved.

use crate::conduct::Saving;
use crate::diagnostic::Diagnostic;
use crate::firmware::Firmware;
use crate::plan::Plan;
use crate::spec::Project;
use crate::units::Time;

/// An error where a hold to standby does not outlast a save.
pub(super) fn fault(project: &Project, plan: &Plan, firmware: &Firmware) -> Option<Diagnostic> {
    let standby = project.standby?;
    let memory = firmware.memory.as_ref()?;
    let write = plan.chip.eeprom.write();
    let after = project.memory.filter(|_| memory.choices);
    let after = after.map(|memory| memory.value.after);
    let saved = match after {
        Some(after) => memory.saving.safe_within(&plan.tick, after, write),
        None => seeded(memory.saving, plan, write),
    };
    let hold = standby.value.hold;
    if hold >= saved {
        return None;
    }
    let message = format!("held for {hold}, the light goes off before all is saved");
    let hint = match after {
        Some(after) if after.0 + hold.0 > saved.0 => format!(
            "`memory: {{after: {}}}`, or `standby: {{hold: {saved}}}`",
            Time(after.0 + hold.0 - saved.0)
        ),
        _ => format!("`standby: {{hold: {saved}}}`"),
    };
    Some(
        Diagnostic::error("C056", standby.span, message)
            .label(format!("expected {saved} or more"))
            .hint(hint),
    )
}

/// How long the seed of a power-up takes to be saved.
fn seeded(saving: Saving, plan: &Plan, write: Time) -> Time {
    let ticks = f64::from(u32::from(saving.at_once()) * saving.every);
    Time((ticks * plan.tick.seconds() * 1e9) as u64 + write.0)
}
