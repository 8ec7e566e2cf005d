//! The watchdog's time.

use super::{Notes, Tick, WatchdogPlan, lookup};
use crate::chip::Chip;
use crate::diagnostic::Diagnostic;
use crate::spec::Project;
use crate::units::Time;

/// It is quieted once a tick; its oscillator and the processor's may both be off by a tenth and more.
const TICKS: f64 = 2.0;

/// An error where a tick leaves the watchdog no time.
pub(super) fn outlasts(plan: &WatchdogPlan, project: &Project, tick: &Tick, notes: &mut Notes) {
    let Some(asked) = project.watchdog else {
        return;
    };
    let least = Time((tick.seconds() * TICKS * 1e9).ceil() as u64);
    if plan.time < least {
        let length = Time((tick.seconds() * 1e9).round() as u64);
        let message = format!("a watchdog of {} bites within a tick", plan.time);
        notes.add(
            Diagnostic::error("C036", asked.span, message)
                .label(format!("expected two ticks or more; one is {length}"))
                .hint(format!(
                    "make it {least} or more, or ask for a shorter `tick:`"
                )),
        );
    }
}

/// The nearest time the watchdog has.
pub(super) fn choose(
    chip: &'static Chip,
    project: &Project,
    notes: &mut Notes,
) -> Option<WatchdogPlan> {
    let asked = project.watchdog?;
    let wish = asked.value;
    let off = |time: Time| libm::log(time.seconds() / wish.seconds()).abs();
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
