//! The watchdog's time.

use super::{Guarded, Target, Write};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::Project;
use crate::units::{Seconds, Time};

/// It is quieted once a tick; its oscillator and the processor's may both be off by a tenth and more.
const TICKS: f64 = 2.0;

/// The watchdog's setting.
#[derive(Debug, Clone, PartialEq)]
pub struct WatchdogPlan {
    pub on: Guarded,
    pub time: Time,
    pub wish: Time,
}

/// How a watchdog that was left on is turned off.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WatchdogOff {
    /// Forgets what has reset the chip, which would keep it on.
    pub flags: Write,
    pub off: Guarded,
}

/// Adds an error where a tick leaves the watchdog no time.
pub fn outlasts(plan: &WatchdogPlan, project: &Project, tick: Seconds, notes: &mut Notes) {
    let Some(asked) = project.watchdog else {
        return;
    };
    let least = Time((tick.0 * TICKS * 1e9).ceil() as u64);
    if plan.time < least {
        let length = Time((tick.0 * 1e9).round() as u64);
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

/// The nearest time the watchdog has. `None`: the project wants none.
pub fn choose(target: Target, project: &Project, notes: &mut Notes) -> Option<WatchdogPlan> {
    let asked = project.watchdog?;
    let wish = asked.value;
    let off = |time: Time| libm::log(time.seconds() / wish.seconds()).abs();
    let watchdog = &target.chip.watchdog;
    let times = watchdog.times().enumerate();
    let (prescaler, time) = times.min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
    if off(time) > 0.01 {
        let all: Vec<String> = watchdog.times().map(|time| time.to_string()).collect();
        let message = format!("the watchdog waits {time}, not {wish}");
        notes.add(
            Diagnostic::caution("C035", asked.span, message)
                .label("this is the nearest it has")
                .hint(format!("it has {}", all.join(", "))),
        );
    }
    Some(WatchdogPlan {
        on: target.watchdog(prescaler),
        time,
        wish,
    })
}
