//! The watchdog's time.

use super::{Notes, WatchdogPlan, lookup};
use crate::chip::Chip;
use crate::diagnostic::Diagnostic;
use crate::spec::Project;
use crate::units::Time;

/// The nearest time the watchdog has.
pub(super) fn choose(
    chip: &'static Chip,
    project: &Project,
    notes: &mut Notes,
) -> Option<WatchdogPlan> {
    let asked = project.watchdog?;
    let wish = asked.value;
    let off = |time: Time| (time.seconds() / wish.seconds()).ln().abs();
    let times = chip.watchdog.times().enumerate();
    let (value, time) = times.min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
    if off(time) > 0.01 {
        let all: Vec<String> = chip.watchdog.times().map(|time| time.to_string()).collect();
        let message = format!("the watchdog waits {time}, not {wish}");
        notes.add(
            Diagnostic::caution("C035", asked.span, message)
                .label("this is the nearest it has")
                .hint(format!("it has {}", all.join(", "))),
        );
    }
    let (_, register) = lookup(chip, &chip.watchdog.register);
    let set = chip
        .watchdog
        .prescaler
        .iter()
        .enumerate()
        .filter(|(bit, _)| value >> bit & 1 == 1);
    let mut bits: Vec<&'static str> = set.map(|(_, name)| name.as_str()).collect();
    bits.sort_by_key(|name| std::cmp::Reverse(register.bit(name)));
    Some(WatchdogPlan { bits, time, wish })
}
