//! The watchdog's time.

use super::{Guarded, Target, Write};
use crate::diagnostic::{Diagnostic, Notes, Span};
use crate::spec::Project;
use crate::units::{Seconds, Time};

/// It is quieted once a tick; its oscillator and the processor's may both be off by a tenth and more.
const TICKS: f64 = 2.0;

/// An evening is so many of the watchdog's periods; its oscillator may be a third fast (from memory: a tenth at 3 V
/// and 25 °C, more in the cold and at other supplies).
const FEWEST_PERIODS: f64 = 50.0;
const MOST_PERIODS: f64 = 65_536.0 / 1.34;

/// The watchdog's setting.
#[derive(Debug, Clone, PartialEq)]
pub struct WatchdogPlan {
    pub on: Guarded,
    pub time: Time,
    pub wish: Time,
    /// `None`: it resets at once.
    pub counting: Option<Counting>,
}

impl WatchdogPlan {
    /// How long a stuck firmware may take to be restarted, least and most. Where periods are counted, the rest of
    /// one goes by before the one that resets.
    pub fn restarts(&self) -> [Time; 2] {
        let most = match self.counting {
            Some(_) => Time(2 * self.time.0),
            None => self.time,
        };
        [self.time, most]
    }
}

/// How the watchdog's periods are counted: it interrupts at the end of each, and resets the chip at the end of the
/// next if nobody has let it interrupt again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counting {
    /// As avr-libc names it.
    pub vector: &'static str,
    pub number: u8,
    /// Lets it interrupt again; clear once it has.
    pub again: Write,
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

/// The nearest time the watchdog has, of those that suit an evening. `None`: the project wants none, or after
/// adding an error.
pub fn choose(target: Target, project: &Project, notes: &mut Notes) -> Option<WatchdogPlan> {
    let asked = project.watchdog?;
    let wish = asked.value;
    let off = |time: Time| libm::log(time.seconds() / wish.seconds()).abs();
    let watchdog = &target.chip.watchdog;
    let suits = |time: &Time| {
        project
            .timed_evening()
            .is_none_or(|evening| counts(evening.value.on, *time))
    };
    let times = watchdog.times().enumerate();
    let suiting = times.filter(|(_, time)| suits(time));
    let (prescaler, time) = suiting.min_by(|a, b| off(a.1).total_cmp(&off(b.1)))?;
    let evening = project.evening.map(|evening| evening.span);
    let sensor = project.sensor.as_ref().map(|sensor| sensor.pin.span);
    let counting = match evening.or(sensor) {
        Some(span) => {
            let counting = target.counting();
            if counting.is_none() {
                notes.add(cannot_count(target, span));
            }
            Some(counting?)
        }
        None => None,
    };
    if off(time) > 0.01 {
        let all = watchdog.times().filter(|time| suits(time));
        let all: Vec<String> = all.map(|time| time.to_string()).collect();
        let message = format!("the watchdog waits {time}, not {wish}");
        let label = match counting {
            Some(_) => "this is the nearest with which it can count an evening",
            None => "this is the nearest it has",
        };
        notes.add(
            Diagnostic::caution("C035", asked.span, message)
                .label(label)
                .hint(format!("it has {}", all.join(", "))),
        );
    }
    Some(WatchdogPlan {
        on: target.watchdog(prescaler, counting.is_some()),
        time,
        wish,
        counting,
    })
}

/// Whether an evening is so many of the watchdog's periods that two bytes count them, however fast it is, and that
/// one more or less is little.
fn counts(on: Time, period: Time) -> bool {
    let periods = on.seconds() / period.seconds();
    (FEWEST_PERIODS..=MOST_PERIODS).contains(&periods)
}

fn cannot_count(target: Target, span: Span) -> Diagnostic {
    let message = format!("the {} cannot count the time asleep", target.chip.title);
    let others = crate::chip::all().filter(|chip| chip.watchdog.interrupt.is_some());
    let others: Vec<&str> = others.map(|chip| chip.name.as_str()).take(4).collect();
    Diagnostic::error("C057", span, message)
        .label("its watchdog has no interrupt")
        .hint(format!(
            "most others have one, such as {}",
            others.join(", ")
        ))
}
