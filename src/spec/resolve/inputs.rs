//! Contacts, further buttons, a switch, a knob, a sensor, and what is played once.

use super::buttons;
use super::settings::{ranged, within};
use crate::diagnostic::{Diagnostic, Report, Span, Spanned, short};
use crate::spec::project::{
    ButtonTo, CONTACTS, Contact, Does, Knob, Once, PatternId, Selector, Sensor, Tap,
};
use crate::spec::raw::{self, Deed};
use crate::spec::read::{Switchable, check_name};
use crate::units::{Lux, Ohms, Time};

/// How long a contact must be closed to count, unless told.
const DEBOUNCE: Time = Time::from_millis(25);

/// What inputs come to.
pub(super) struct Inputs {
    pub start: Option<Once>,
    pub contacts: Vec<Contact>,
    pub selector: Option<Selector>,
    pub knob: Option<Knob>,
    pub sensor: Option<Sensor>,
}

/// The names of what is played once: when power comes, then by contact, as far as they could be read.
pub(super) fn played(raw: &raw::Project) -> impl Iterator<Item = &Spanned<String>> {
    let first = raw.start.iter().filter_map(|start| start.plays.0.as_ref());
    let by_contacts = inputs(raw).filter_map(|(_, input)| match input.deed() {
        Some(Deed::Plays(plays)) => Some(plays),
        _ => None,
    });
    first.chain(by_contacts)
}

/// The two patterns that a switch chooses between.
pub(super) fn selected(raw: &raw::Project) -> Option<(&[Spanned<String>; 2], Span)> {
    inputs(raw).find_map(|(_, input)| match input.deed() {
        Some(Deed::Selects(selects)) => match &selects.value {
            raw::Selects::Patterns(names) => Some((names, selects.span)),
            raw::Selects::Shows => None,
        },
        _ => None,
    })
}

/// Whether a sensor ends the night.
pub(super) fn senses(raw: &raw::Project) -> bool {
    inputs(raw).any(|(_, input)| input.senses.is_some())
}

/// The further buttons, each with what a tap on it does.
pub(super) fn tapped(raw: &raw::Project) -> impl Iterator<Item = (&Spanned<String>, Spanned<Tap>)> {
    inputs(raw).filter_map(|(name, input)| match input.deed() {
        Some(Deed::Taps(tap)) => Some((name, tap)),
        _ => None,
    })
}

/// Whether a switch leads to the second show.
pub(super) fn selects(raw: &raw::Project) -> bool {
    inputs(raw).any(|(_, input)| input.selects.is_some())
}

/// `once`: the patterns of [`played`], in that order; `None` where there is none of that name.
pub(super) fn resolve(
    raw: &raw::Project,
    once: &[Option<PatternId>],
    report: &mut Report,
) -> Inputs {
    let mut found = once.iter().copied();
    let mut pattern = |name: &Spanned<String>| Some(Spanned::new(found.next()??, name.span));
    let start = raw.start.as_ref().and_then(|start| {
        let pattern = pattern(start.plays.0.as_ref()?);
        self::once(pattern, start.r#for, report)
    });
    let mut all = Inputs {
        start,
        contacts: Vec::new(),
        selector: None,
        knob: None,
        sensor: None,
    };
    let mut closing = 0;
    for (name, input) in inputs(raw) {
        check_name(&name.value, name.span, report);
        let bounces = (Time::from_millis(1), Time::from_millis(100));
        let debounce = ranged(input.debounce, bounces, DEBOUNCE, input.span, report);
        let pin = input.pin.clone().map(|pin| pin.0);
        let to = input.to.map_or(ButtonTo::Ground, |to| to.value);
        if input.deeds().len() != 1 {
            report.push(of_one_thing(name, input));
        }
        let does = closing_does(input, &mut pattern, report);
        if let Some(does) = does {
            closing += 1;
            if closing == CONTACTS + 1 {
                report.push(too_many(name.span));
            }
            all.contacts.push(Contact {
                name: name.clone(),
                pin: pin.clone(),
                to,
                debounce,
                does,
            });
        }
        match input.deed() {
            Some(Deed::Selects(selects)) => {
                check_switch(raw, selects, input.r#for, all.selector.is_some(), report);
                all.selector = Some(Selector {
                    name: name.clone(),
                    pin,
                    to,
                    debounce,
                });
            }
            Some(Deed::Sets(sets)) => {
                check_knob(input, sets.span, all.knob.is_some(), report);
                all.knob = Some(Knob {
                    name: name.clone(),
                    pin,
                    sets: sets.value,
                });
            }
            Some(Deed::Senses(senses)) => {
                check_sensor(raw, input, senses.span, all.sensor.is_some(), report);
                all.sensor = Some(sensor(name, pin, input, report));
            }
            Some(Deed::Plays(_) | Deed::Taps(_)) | None => {}
        }
        if !matches!(input.deed(), Some(Deed::Senses(_)) | None) {
            of_sensors_alone(input, report);
        }
    }
    buttons::check(raw, report);
    all
}

/// What closing it does; `None`: it is no contact and no button, or plays nothing that there is.
fn closing_does(
    input: &raw::Input,
    pattern: &mut impl FnMut(&Spanned<String>) -> Option<Spanned<PatternId>>,
    report: &mut Report,
) -> Option<Does> {
    match input.deed() {
        Some(Deed::Plays(plays)) => once(pattern(plays), input.r#for, report).map(Does::Plays),
        Some(Deed::Taps(tap)) => {
            buttons::check_keys(input, report);
            Some(Does::Taps(tap.value))
        }
        _ => None,
    }
}

/// Street lamps come on at some 10 lux, and a room by a window is as dark at dusk (common practice, no source).
const DARK: Lux = Lux(10.0);
/// Twice to four times as much, so that neither its own light nor a cloud counts (common practice, no source).
const HYSTERESIS: f64 = 4.0;
const LEAST_HYSTERESIS: f64 = 1.5;
const STEADY: Time = Time::from_millis(10_000);
/// A light-dependent resistor of 5 mm, such as those of 10 to 20 kohm at 10 lux (their datasheets, from memory).
const RESISTANCE: Ohms = Ohms(15e3);

fn sensor(
    name: &Spanned<String>,
    pin: Spanned<String>,
    input: &raw::Input,
    report: &mut Report,
) -> Sensor {
    let dark = ranged(input.dark, (Lux(0.5), Lux(10e3)), DARK, input.span, report);
    let least = Lux((dark.value.0 * LEAST_HYSTERESIS * 10.0).round() / 10.0);
    let usual = Lux(dark.value.0 * HYSTERESIS);
    let seconds = |seconds: u64| Time::from_millis(1000 * seconds);
    Sensor {
        name: name.clone(),
        pin,
        dark,
        bright: ranged(input.bright, (least, Lux(100e3)), usual, input.span, report),
        steady: ranged(
            input.steady,
            (seconds(2), seconds(240)),
            STEADY,
            input.span,
            report,
        ),
        resistance: ranged(
            input.resistance,
            (Ohms(1e3), Ohms(1e6)),
            RESISTANCE,
            input.span,
            report,
        ),
    }
}

/// There is one, which needs the watchdog and knows itself when a day is over.
fn check_sensor(
    raw: &raw::Project,
    input: &raw::Input,
    senses: Span,
    second: bool,
    report: &mut Report,
) {
    if second {
        report.push(
            Diagnostic::error("S054", senses, "a second sensor of light")
                .label("expected one")
                .hint("put it where the light of the strings does not fall on it"),
        );
    }
    of_contacts_alone(input, "S054", "senses", report);
    let off = raw.watchdog.as_ref();
    if let Some(off) = off.filter(|one| matches!(one.value, Switchable::Off)) {
        report.push(
            Diagnostic::error("S052", off.span, "a sensor of light needs the watchdog")
                .label("its interrupt wakes the chip to look whether it is dark")
                .hint("leave `watchdog` out: it is on by default"),
        );
    }
    let every = raw.evening.as_ref().and_then(|evening| evening.every);
    if let Some(every) = every {
        report.push(
            Diagnostic::error("S054", every.span, "`every` beside a sensor of light")
                .label("with a sensor the next evening begins at dusk")
                .hint("leave `every` out; `on` says how long an evening lasts"),
        );
    }
}

fn of_sensors_alone(input: &raw::Input, report: &mut Report) {
    let keys = [
        ("dark", input.dark.map(|at| at.span)),
        ("bright", input.bright.map(|at| at.span)),
        ("steady", input.steady.map(|at| at.span)),
        ("resistance", input.resistance.map(|at| at.span)),
    ];
    for (key, span) in said(keys) {
        report.push(
            Diagnostic::error("S054", span, format!("`{key}` is said of sensors alone"))
                .label("this input is none")
                .hint("`{pin: PB4, senses: light}` is a sensor of light"),
        );
    }
}

/// There is one knob, and nothing to be said of contacts.
fn check_knob(input: &raw::Input, sets: Span, second: bool, report: &mut Report) {
    if second {
        report.push(
            Diagnostic::error("S053", sets, "a second knob")
                .label("expected one for all light")
                .hint("how bright channels are beside each other is said by `trim`"),
        );
    }
    of_contacts_alone(input, "S053", "sets", report);
}

fn of_contacts_alone(input: &raw::Input, code: &'static str, beside: &str, report: &mut Report) {
    let keys = [
        ("for", input.r#for.map(|at| at.span)),
        ("to", input.to.map(|at| at.span)),
        ("debounce", input.debounce.map(|at| at.span)),
    ];
    for (key, span) in said(keys) {
        let message = format!("`{key}` does not fit with `{beside}`");
        report.push(
            Diagnostic::error(code, span, message)
                .label("that is said of contacts")
                .hint("leave it out: what is measured is a voltage"),
        );
    }
}

/// Those of an input's keys that stand there.
pub(super) fn said<const N: usize>(
    keys: [(&'static str, Option<Span>); N],
) -> impl Iterator<Item = (&'static str, Span)> {
    let keys = keys.into_iter();
    keys.filter_map(|(key, span)| Some((key, span?)))
}

fn of_one_thing(name: &Spanned<String>, input: &raw::Input) -> Diagnostic {
    let name = short(&name.value);
    let (message, label) = match input.deeds().len() {
        0 => (
            format!("`{name}` does nothing"),
            "expected `plays`, `selects`, `sets`, `tap` or `senses`",
        ),
        _ => (
            format!("`{name}` does several things"),
            "expected one of `plays`, `selects`, `sets`, `tap` and `senses`",
        ),
    };
    Diagnostic::error("S013", input.span, message)
        .label(label)
        .hint(
            "`plays: welcome` plays a pattern once; `selects: [calm, lively]` chooses one of two; \
             `sets: brightness` makes it a knob, `tap: next` a further button, `senses: light` a sensor",
        )
}

fn too_many(span: Span) -> Diagnostic {
    Diagnostic::error(
        "S044",
        span,
        format!("more than {CONTACTS} contacts and buttons"),
    )
    .label("one too many")
    .hint("contacts that play the same can share a pin, side by side")
}

/// There is one switch; it chooses between two shows, which stand in one place.
fn check_switch(
    raw: &raw::Project,
    selects: &Spanned<raw::Selects>,
    lasts: Option<Spanned<Time>>,
    second: bool,
    report: &mut Report,
) {
    if second {
        report.push(
            Diagnostic::error("S050", selects.span, "a second switch")
                .label("expected one that chooses between two shows")
                .hint("contacts that play a pattern once can be several"),
        );
    }
    if let Some(lasts) = lasts {
        report.push(
            Diagnostic::error("S050", lasts.span, "`for` does not fit with `selects`")
                .label("what a switch chooses plays until it is turned")
                .hint("leave it out"),
        );
    }
    let shows = raw.shows.as_ref();
    match (&selects.value, shows) {
        (raw::Selects::Patterns(_), Some(_)) => report.push(
            Diagnostic::error(
                "S050",
                selects.span,
                "a switch and `shows` both say what plays",
            )
            .label("these two patterns are shows of their own")
            .hint("leave `shows` out, or write `selects: shows`"),
        ),
        (raw::Selects::Shows, shows) if shows.is_none_or(|shows| shows.value.len() != 2) => {
            let count = shows.map_or(1, |shows| shows.value.len());
            let some = if count == 1 { "show" } else { "shows" };
            report.push(
                Diagnostic::error("S050", selects.span, format!("a switch for {count} {some}"))
                    .label("expected two under `shows`: the first while it is open, the second while closed")
                    .hint("or name two patterns: `selects: [calm, lively]`"),
            );
        }
        _ => {}
    }
}

fn once(
    pattern: Option<Spanned<PatternId>>,
    lasts: Option<Spanned<Time>>,
    report: &mut Report,
) -> Option<Once> {
    if let Some(lasts) = &lasts {
        let longest = Time(24 * 3600 * 1_000_000_000);
        within(lasts, Time::from_millis(10), longest, report);
    }
    pattern.map(|pattern| Once { pattern, lasts })
}

/// Those that could be read, as written.
fn inputs(raw: &raw::Project) -> impl Iterator<Item = (&Spanned<String>, &raw::Input)> {
    let inputs = raw.inputs.iter().flat_map(|inputs| &inputs.entries);
    inputs.filter_map(|(name, input)| Some((name, input.as_ref()?)))
}
