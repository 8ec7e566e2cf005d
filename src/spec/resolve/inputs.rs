//! Contacts, and what is played once.

use super::settings::{ranged, within};
use crate::diagnostic::{Diagnostic, Report, Spanned};
use crate::spec::project::{ButtonTo, CONTACTS, Contact, Once, PatternId};
use crate::spec::raw;
use crate::spec::read::check_name;
use crate::units::Time;

/// How long a contact must be closed to count, unless told.
const DEBOUNCE: Time = Time::from_millis(25);

/// The names of what is played once: when power comes, then by contact, as far as they could be read.
pub(super) fn played(raw: &raw::Project) -> impl Iterator<Item = &Spanned<String>> {
    let first = raw.start.iter().map(|start| &start.plays);
    let contacts = contacts(raw).map(|(_, input)| &input.plays);
    first.chain(contacts).filter_map(|name| name.0.as_ref())
}

/// `once`: the patterns of [`played`], in that order; `None` where there is none of that name.
pub(super) fn inputs(
    raw: &raw::Project,
    once: &[Option<PatternId>],
    report: &mut Report,
) -> (Option<Once>, Vec<Contact>) {
    let mut found = once.iter().copied();
    let mut pattern = |name: &raw::Played| {
        let name = name.0.as_ref()?;
        let found = found.next()??;
        Some(Spanned::new(found, name.span))
    };
    let start = raw.start.as_ref();
    let start = start.and_then(|start| self::once(pattern(&start.plays), start.r#for, report));
    let mut all = Vec::new();
    for (name, input) in contacts(raw) {
        check_name(&name.value, name.span, report);
        let bounces = (Time::from_millis(1), Time::from_millis(100));
        let debounce = ranged(input.debounce, bounces, DEBOUNCE, input.span, report);
        let plays = self::once(pattern(&input.plays), input.r#for, report);
        all.extend(plays.map(|plays| Contact {
            name: name.clone(),
            pin: input.pin.clone().map(|pin| pin.0),
            to: input.to.map_or(ButtonTo::Ground, |to| to.value),
            debounce,
            plays,
        }));
    }
    let listed = raw.inputs.iter().flat_map(|inputs| &inputs.entries);
    if let Some((name, _)) = listed.clone().nth(CONTACTS) {
        report.push(
            Diagnostic::error("S044", name.span, format!("more than {CONTACTS} contacts"))
                .label("one contact too many")
                .hint("contacts that play the same can share a pin, side by side"),
        );
    }
    (start, all)
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
fn contacts(raw: &raw::Project) -> impl Iterator<Item = (&Spanned<String>, &raw::Input)> {
    let inputs = raw.inputs.iter().flat_map(|inputs| &inputs.entries);
    inputs.filter_map(|(name, input)| Some((name, input.as_ref()?)))
}
