//! How long steps take: every round takes time, nothing follows what never ends.

use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::{Drawn, Step, Times, Wave};
use crate::units::Time;

/// The longest round of a track: 30 days.
const LONGEST: u64 = 30 * 24 * 3600 * 1_000_000_000;

const CAN_PASS: &str = "these steps can pass in no time";

/// How long steps can take, in nanoseconds.
#[derive(Clone, Copy, Default)]
struct Extent {
    shortest: u64,
    longest: u64,
    endless: bool,
}

/// Holds the steps of a track to the rules.
pub(super) fn check(steps: &[Spanned<Step>], span: Span, report: &mut Report) {
    let course = list(steps, report);
    if course.shortest == 0 && !course.endless {
        report.push(no_time(
            span,
            if steps.is_empty() {
                "there are no steps"
            } else {
                CAN_PASS
            },
        ));
    } else if course.longest > LONGEST {
        report.push(
            Diagnostic::error("S016", span, "these steps take longer than a month")
                .label("expected at most 30 days for one round")
                .hint("repeat less often"),
        );
    }
}

fn no_time(span: Span, what: &'static str) -> Diagnostic {
    Diagnostic::error("S037", span, what)
        .label("expected every way through to take some time")
        .hint("add a hold, such as `{hold: 500 ms}`")
}

fn list(steps: &[Spanned<Step>], report: &mut Report) -> Extent {
    let mut total = Extent::default();
    for (index, step) in steps.iter().enumerate() {
        let course = one(step, report);
        total.shortest = total.shortest.saturating_add(course.shortest);
        total.longest = total.longest.saturating_add(course.longest);
        if course.endless {
            total.endless = true;
            if let Some(next) = steps.get(index + 1) {
                report.push(never_reached(next.span, &step.value));
                break;
            }
        }
    }
    total
}

fn one(step: &Spanned<Step>, report: &mut Report) -> Extent {
    match &step.value {
        Step::To { over, .. } => drawn(*over),
        Step::Set { .. } => Extent::default(),
        Step::Hold(time) => drawn(*time),
        Step::Stay => Extent {
            endless: true,
            ..Extent::default()
        },
        Step::Repeat { times, steps } => {
            let round = list(steps, report);
            if round.shortest == 0 && !round.endless {
                report.push(no_time(step.span, CAN_PASS));
            }
            if round.endless && matches!(times, Times::Count(2..)) {
                report.push(
                    Diagnostic::error("S038", step.span, "a second round is never played")
                        .label("the steps within never end")
                        .hint("give the wave `cycles`, or the inner `repeat` a number"),
                );
            }
            repeated(round, *times)
        }
        Step::Pick { steps, .. } => list(steps, report),
        Step::Branch(branches) => branches
            .iter()
            .map(|steps| list(steps, report))
            .reduce(|a, b| Extent {
                shortest: a.shortest.min(b.shortest),
                longest: a.longest.max(b.longest),
                endless: a.endless || b.endless,
            })
            .unwrap_or_default(),
        Step::Wave(Wave { period, cycles, .. }) => repeated(fixed(period.value), *cycles),
        Step::Rhythm { times, .. } => {
            let total = times
                .iter()
                .map(|time| time.value.0)
                .fold(0, u64::saturating_add);
            fixed(Time(total))
        }
    }
}

fn fixed(time: Time) -> Extent {
    Extent {
        shortest: time.0,
        longest: time.0,
        endless: false,
    }
}

fn drawn(time: Drawn<Time>) -> Extent {
    match time {
        Drawn::Fixed(time) => fixed(time),
        Drawn::Between(low, high) => Extent {
            shortest: low.0,
            longest: high.0,
            endless: false,
        },
    }
}

fn repeated(round: Extent, times: Times) -> Extent {
    match times {
        Times::Forever => Extent {
            endless: true,
            ..round
        },
        Times::Count(times) => Extent {
            shortest: round.shortest.saturating_mul(times.into()),
            longest: round.longest.saturating_mul(times.into()),
            endless: round.endless,
        },
    }
}

fn never_reached(span: Span, endless: &Step) -> Diagnostic {
    let (what, hint) = match endless {
        Step::Wave(_) => (
            "a wave without `cycles`",
            "give the wave `cycles`, or move it to the end",
        ),
        Step::Stay => ("`hold: forever`", "give it a time, or move it to the end"),
        Step::Repeat { .. } => (
            "`repeat: forever`",
            "give it a number, or move it to the end",
        ),
        _ => (
            "steps that may never end",
            "move this before them, or let them end",
        ),
    };
    Diagnostic::error("S038", span, "this step is never reached")
        .label(format!("it comes after {what}"))
        .hint(hint)
}
