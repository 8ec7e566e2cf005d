//! Everything but channels, patterns and shows: ranges checked, defaults filled in.

use std::fmt::Display;

use super::inputs;
use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::{
    Brightness, Button, ButtonTo, ChargePump, Curve, DriveWish, Memory, Pwm, PwmMode, Standby,
    Starts,
};
use crate::spec::raw;
use crate::spec::read::{MaybeEmpty, Switchable};
use crate::units::{Hertz, Share, Time, Volts};

/// Quiet time before a change is remembered.
const MEMORY_AFTER: Time = Time::from_millis(3000);

/// How long a button is held until the light goes off, unless told; at least so much longer than for a hold, and
/// at most so long.
const STANDBY_HOLD: Time = Time::from_millis(3000);
const ABOVE_HOLD: Time = Time::from_millis(500);
const LONGEST_HOLD: Time = Time::from_millis(10_000);
/// What is left between the quiet time and the end of such a hold, for a save.
const TO_SAVE: Time = Time::from_millis(500);

/// A change of scene where evenings end and begin, unless told.
const EVENING_FADE: Time = Time::from_millis(2000);

/// Whether a value is in its range; if not, the report says so.
pub(super) fn within<T: PartialOrd + Display>(
    value: &Spanned<T>,
    low: T,
    high: T,
    report: &mut Report,
) -> bool {
    let inside = low <= value.value && value.value <= high;
    if !inside {
        let nearest = if value.value < low { &low } else { &high };
        report.push(
            Diagnostic::error(
                "S016",
                value.span,
                format!("`{}` is out of range", value.value),
            )
            .label(format!("expected {low} to {high}"))
            .hint(format!("the nearest is `{nearest}`")),
        );
    }
    inside
}

/// A value within its range, or the default at the place that made it apply.
pub(super) fn ranged<T: PartialOrd + Display + Copy>(
    value: Option<Spanned<T>>,
    range: (T, T),
    default: T,
    owner: Span,
    report: &mut Report,
) -> Spanned<T> {
    match value {
        Some(value) => {
            within(&value, range.0, range.1, report);
            value
        }
        None => Spanned::new(default, owner),
    }
}

/// Of brightness by buttons: from full to the least in a few presses (common practice, no source).
const STEPS: u32 = 8;
/// Longer than a tap, and soon enough for who holds on (common practice, no source).
const REPEAT: Time = Time::from_millis(400);

pub(super) fn brightness(
    raw: Option<&raw::Brightness>,
    project: Span,
    report: &mut Report,
) -> Brightness {
    let owner = raw.map_or(project, |raw| raw.span);
    let levels = raw.and_then(|raw| raw.levels);
    let brightness = Brightness {
        curve: match raw.and_then(|raw| raw.curve.as_ref()) {
            Some(curve) => Spanned::new(self::curve(&curve.value, curve.span, report), curve.span),
            None => Spanned::new(Curve::Lightness, owner),
        },
        levels: ranged(levels, (2, 256), 256, owner, report).map(|levels| levels as u16),
        floor: raw
            .and_then(|raw| raw.floor)
            .unwrap_or(Spanned::new(Share(0.0), owner)),
        ceiling: raw
            .and_then(|raw| raw.ceiling)
            .unwrap_or(Spanned::new(Share(1.0), owner)),
        error: ranged(
            raw.and_then(|raw| raw.error),
            (0.05, 10.0),
            0.5,
            owner,
            report,
        ),
        steps: ranged(raw.and_then(|raw| raw.steps), (3, 32), STEPS, owner, report)
            .map(|steps| steps as u8),
        repeat: ranged(
            raw.and_then(|raw| raw.repeat),
            (Time::from_millis(150), Time::from_millis(2_000)),
            REPEAT,
            owner,
            report,
        ),
    };
    let (floor, ceiling) = (&brightness.floor, &brightness.ceiling);
    if ceiling.value.0 == 0.0 {
        report.push(
            Diagnostic::error("S043", ceiling.span, "a ceiling of 0 % leaves no light")
                .label("expected more than 0 %")
                .hint("leave it out for full light"),
        );
    } else if floor.value >= ceiling.value {
        let message = format!("the floor is not below the ceiling of {}", ceiling.value);
        report.push(
            Diagnostic::error("S043", floor.span, message)
                .label(format!("expected less than {}", ceiling.value))
                .hint("a floor of a few percent keeps the lowest level just visible"),
        );
    }
    brightness
}

fn curve(raw: &raw::Curve, span: Span, report: &mut Report) -> Curve {
    match raw {
        raw::Curve::Named(raw::NamedCurve::Lightness) => Curve::Lightness,
        raw::Curve::Named(raw::NamedCurve::Logarithmic) => Curve::Logarithmic,
        raw::Curve::Named(raw::NamedCurve::Square) => Curve::Square,
        raw::Curve::Named(raw::NamedCurve::Linear) => Curve::Linear,
        raw::Curve::Power(power) => {
            within(&power.power, 0.2, 5.0, report);
            Curve::Power(power.power.value)
        }
        raw::Curve::Points(curve) => Curve::Points(points(curve, span, report)),
    }
}

fn points(raw: &raw::PointCurve, span: Span, report: &mut Report) -> Vec<(Share, Share)> {
    for pair in raw.points.windows(2) {
        let ([x0, y0], [x1, y1]) = (pair[0].value, pair[1].value);
        if x1 <= x0 || y1 < y0 {
            report.push(
                Diagnostic::error("S043", pair[1].span, "the curve's points do not rise")
                    .label(format!("expected more than {x0} and at least {y0}"))
                    .hint("order the points by percentage; more must never be darker"),
            );
        }
    }
    let points: Vec<_> = raw
        .points
        .iter()
        .map(|point| (point.value[0], point.value[1]))
        .collect();
    let (dark, full) = ((Share(0.0), Share(0.0)), (Share(1.0), Share(1.0)));
    if points.first() != Some(&dark) || points.last() != Some(&full) || points.len() > 256 {
        report.push(
            Diagnostic::error(
                "S043",
                span,
                "the curve does not go from dark to full light",
            )
            .label("expected up to 256 points, `[0 %, 0 %]` first, `[100 %, 100 %]` last")
            .hint("measure light as a share of the brightest, and dark as 0 %"),
        );
    }
    points
}

pub(super) fn pwm(raw: Option<&raw::Pwm>, project: Span, report: &mut Report) -> Pwm {
    let owner = raw.map_or(project, |raw| raw.span);
    let frequency = raw.and_then(|raw| raw.frequency);
    if let Some(frequency) = &frequency {
        within(frequency, Hertz(30.0), Hertz(1e6), report);
    }
    let slowest = raw.and_then(|raw| raw.slowest);
    Pwm {
        frequency,
        slowest: ranged(
            slowest,
            (Hertz(30.0), Hertz(100e3)),
            Hertz(1250.0),
            owner,
            report,
        ),
        mode: raw
            .and_then(|raw| raw.mode)
            .unwrap_or(Spanned::new(PwmMode::Auto, owner)),
        drive: raw
            .and_then(|raw| raw.drive)
            .unwrap_or(Spanned::new(DriveWish::Auto, owner)),
    }
}

pub(super) fn tick(raw: &raw::Project, report: &mut Report) -> Option<Spanned<Time>> {
    if let Some(tick) = &raw.tick {
        within(tick, Time(100_000), Time::from_millis(250), report);
    }
    raw.tick
}

pub(super) fn change_fade(raw: &raw::Project, report: &mut Report) -> Spanned<Time> {
    let range = (Time(0), Time::from_millis(30_000));
    let nights = raw.evening.is_some() || inputs::senses(raw);
    let default = if nights { EVENING_FADE } else { Time(0) };
    ranged(raw.change_fade, range, default, raw.span, report)
}

pub(super) fn button(raw: &raw::Button, report: &mut Report) -> Button {
    let holds = (Time::from_millis(200), Time::from_millis(10_000));
    let bounces = (Time::from_millis(1), Time::from_millis(100));
    Button {
        pin: raw.pin.clone().map(|pin| pin.0),
        to: raw.to.map_or(ButtonTo::Ground, |to| to.value),
        hold: ranged(raw.hold, holds, Time::from_millis(800), raw.span, report),
        debounce: ranged(
            raw.debounce,
            bounces,
            Time::from_millis(25),
            raw.span,
            report,
        ),
    }
}

/// Wants a button, and a hold that is well above its own.
pub(super) fn standby(
    raw: &raw::Project,
    button: Option<&Button>,
    report: &mut Report,
) -> Option<Spanned<Standby>> {
    let MaybeEmpty(standby) = raw.standby.as_ref()?;
    let Some(button) = button else {
        if raw.button.is_none() {
            let message = "standby without a button";
            report.push(
                Diagnostic::error("S049", standby.span, message)
                    .label("nothing could switch it on again")
                    .hint("add `button: {pin: …}`"),
            );
        }
        return None;
    };
    let least = Time(button.hold.value.0 + ABOVE_HOLD.0);
    let default = STANDBY_HOLD.max(least);
    let hold = ranged(
        standby.hold,
        (least, LONGEST_HOLD),
        default,
        standby.span,
        report,
    );
    Some(Spanned::new(
        Standby {
            hold: hold.value,
            starts: standby.starts.map_or(Starts::Lit, |starts| starts.value),
        },
        standby.span,
    ))
}

pub(super) fn memory(
    raw: &raw::Project,
    standby: Option<&Spanned<Standby>>,
    report: &mut Report,
) -> Option<Spanned<Memory>> {
    // Before the light goes off, all is saved.
    let longest = standby.map_or(MEMORY_AFTER, |standby| {
        Time(standby.value.hold.0.saturating_sub(TO_SAVE.0))
    });
    let default = MEMORY_AFTER.min(longest);
    match &raw.memory {
        Some(Spanned {
            value: Switchable::Off,
            ..
        }) => None,
        Some(Spanned {
            value: Switchable::On(memory),
            span,
        }) => {
            let range = (Time::from_millis(100), Time::from_millis(600_000));
            let after = ranged(memory.after, range, default, *span, report);
            Some(Spanned::new(Memory { after: after.value }, *span))
        }
        None => {
            let button = raw.button.as_ref().map(|button| button.span);
            let further = inputs::tapped(raw).map(|(_, tap)| tap.span).next();
            (button.or(further)).map(|span| Spanned::new(Memory { after: default }, span))
        }
    }
}

pub(super) fn watchdog(raw: &raw::Project, report: &mut Report) -> Option<Spanned<Time>> {
    match raw
        .watchdog
        .as_ref()
        .map(|watchdog| (&watchdog.value, watchdog.span))
    {
        Some((Switchable::Off, _)) => None,
        Some((Switchable::On(time), span)) => {
            let time = Spanned::new(*time, span);
            within(
                &time,
                Time::from_millis(15),
                Time::from_millis(8000),
                report,
            );
            Some(time)
        }
        None => Some(Spanned::new(Time::from_millis(1000), raw.span)),
    }
}

pub(super) fn brown_out(raw: &raw::Project) -> Option<Spanned<Option<Volts>>> {
    let level = |level: &Switchable<Volts>| match level {
        Switchable::Off => None,
        Switchable::On(volts) => Some(*volts),
    };
    let asked = raw.brown_out.as_ref()?;
    Some(Spanned::new(level(&asked.value), asked.span))
}

pub(super) fn charge_pump(raw: &raw::ChargePump, report: &mut Report) -> ChargePump {
    let [first, second] = &raw.pins;
    if first.value == second.value {
        let message = "both ends of the charge pump are on one pin";
        report.push(
            Diagnostic::error("S034", second.span, message)
                .label("expected another pin of the same port")
                .hint("the two pins switch in opposite phase, such as `[PD0, PD1]`"),
        );
    }
    if let Some(clock) = &raw.clock {
        within(clock, Hertz(100.0), Hertz(1e6), report);
    }
    ChargePump {
        pins: raw.pins.clone().map(|pin| pin.map(|pin| pin.0)),
        clock: raw.clock,
        span: raw.span,
    }
}
