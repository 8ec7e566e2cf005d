//! Evenings: ranges checked, defaults filled in.

use super::inputs;
use super::settings::{ranged, within};
use crate::diagnostic::{Diagnostic, Report, Spanned};
use crate::spec::project::Evening;
use crate::spec::raw;
use crate::spec::read::Switchable;
use crate::units::Time;

const MINUTE: Time = Time::from_millis(60_000);
const DAY: Time = Time::from_millis(24 * 3_600_000);
const LONGEST: Time = Time(7 * DAY.0);
/// Two bytes count as many of the slowest watchdog's periods.
const LONGEST_ON: Time = Time(4 * DAY.0);

/// How far on and off may be apart: the firmware keeps what one is to the other in two bytes.
const MOST_TO_ONE: u64 = 255;

/// Wants a watchdog, whose interrupt counts the time asleep, and leaves a night.
pub(super) fn evening(raw: &raw::Project, report: &mut Report) -> Option<Spanned<Evening>> {
    let evening = raw.evening.as_ref()?;
    let every = ranged(
        evening.every,
        (Time(2 * MINUTE.0), LONGEST),
        DAY,
        evening.span,
        report,
    );
    let shared = |parts: u64| Time(every.value.0 / (MOST_TO_ONE + 1) * parts);
    let least = MINUTE.max(up(shared(1)));
    let most = down(shared(MOST_TO_ONE))
        .min(Time(every.value.0.saturating_sub(MINUTE.0)))
        .min(LONGEST_ON);
    if inputs::senses(raw) {
        // Dusk ends the day, whatever the evening is of it.
        within(&evening.on, MINUTE, Time(DAY.0 - MINUTE.0), report);
    } else if evening.on.value >= every.value {
        let message = format!("on for {} leaves no night", evening.on.value);
        report.push(
            Diagnostic::error("S051", evening.on.span, message)
                .label(format!("expected less than the {} of `every`", every.value))
                .hint("leave `evening` out for a light that is always on"),
        );
    } else if evening
        .every
        .is_none_or(|every| every.value >= Time(2 * MINUTE.0))
    {
        within(&evening.on, least, most, report);
    }
    if let Some(watchdog) = raw
        .watchdog
        .as_ref()
        .filter(|one| matches!(one.value, Switchable::Off))
    {
        report.push(
            Diagnostic::error("S052", watchdog.span, "evenings need the watchdog")
                .label("its interrupt counts the time asleep")
                .hint("leave `watchdog` out: it is on by default"),
        );
        return None;
    }
    Some(Spanned::new(
        Evening {
            on: evening.on.value,
            every: every.value,
        },
        evening.span,
    ))
}

/// The next whole minute.
fn up(time: Time) -> Time {
    Time(time.0.div_ceil(MINUTE.0) * MINUTE.0)
}

/// The last whole minute.
fn down(time: Time) -> Time {
    Time(time.0 / MINUTE.0 * MINUTE.0)
}
