//! Contacts, a switch, and what is played once.

use super::settings::{ranged, within};
use crate::diagnostic::{Diagnostic, Report, Span, Spanned, short};
use crate::spec::project::{ButtonTo, CONTACTS, Contact, Once, PatternId, Selector};
use crate::spec::raw;
use crate::spec::read::check_name;
use crate::units::Time;

/// How long a contact must be closed to count, unless told.
const DEBOUNCE: Time = Time::from_millis(25);

/// What inputs come to.
pub(super) struct Inputs {
    pub start: Option<Once>,
    pub contacts: Vec<Contact>,
    pub selector: Option<Selector>,
}

/// The names of what is played once: when power comes, then by contact, as far as they could be read.
pub(super) fn played(raw: &raw::Project) -> impl Iterator<Item = &Spanned<String>> {
    let first = raw.start.iter().filter_map(|start| start.plays.0.as_ref());
    first.chain(inputs(raw).filter_map(|(_, input)| input.deeds().0))
}

/// The two patterns that a switch chooses between.
pub(super) fn selected(raw: &raw::Project) -> Option<(&[Spanned<String>; 2], Span)> {
    let mut all = inputs(raw).filter_map(|(_, input)| input.deeds().1);
    all.find_map(|selects| match &selects.value {
        raw::Selects::Patterns(names) => Some((names, selects.span)),
        raw::Selects::Shows => None,
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
    let (mut contacts, mut selector) = (Vec::new(), None);
    let mut played = 0;
    for (name, input) in inputs(raw) {
        check_name(&name.value, name.span, report);
        let bounces = (Time::from_millis(1), Time::from_millis(100));
        let debounce = ranged(input.debounce, bounces, DEBOUNCE, input.span, report);
        let pin = input.pin.clone().map(|pin| pin.0);
        let to = input.to.map_or(ButtonTo::Ground, |to| to.value);
        let does_one_thing = input.plays.is_some() != input.selects.is_some();
        if !does_one_thing {
            report.push(of_one_thing(name, input));
        }
        let (plays, selects) = input.deeds();
        if let Some(plays) = plays {
            played += 1;
            if played == CONTACTS + 1 {
                report.push(too_many(name.span));
            }
            let plays = self::once(pattern(plays), input.r#for, report);
            contacts.extend(plays.map(|plays| Contact {
                name: name.clone(),
                pin,
                to,
                debounce,
                plays,
            }));
        } else if let Some(selects) = selects {
            check_switch(raw, selects, input.r#for, selector.is_some(), report);
            selector = Some(Selector {
                name: name.clone(),
                pin,
                to,
                debounce,
            });
        }
    }
    Inputs {
        start,
        contacts,
        selector,
    }
}

fn of_one_thing(name: &Spanned<String>, input: &raw::Input) -> Diagnostic {
    let name = short(&name.value);
    let (message, label) = match input.plays {
        Some(_) => (
            format!("`{name}` does two things"),
            "expected `plays` or `selects`, not both",
        ),
        None => (
            format!("`{name}` does nothing"),
            "expected `plays` or `selects`",
        ),
    };
    Diagnostic::error("S013", input.span, message)
        .label(label)
        .hint("`plays: welcome` plays a pattern once; `selects: [calm, lively]` chooses one of two")
}

fn too_many(span: Span) -> Diagnostic {
    Diagnostic::error("S044", span, format!("more than {CONTACTS} contacts"))
        .label("one contact too many")
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
