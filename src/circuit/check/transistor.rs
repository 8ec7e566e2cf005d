//! The transistor that a string names.

use crate::circuit::switch::{Entry, Family, entries, find, nearest};
use crate::diagnostic::{Diagnostic, Spanned, short};
use crate::spec::{LedString, Switch, SwitchDrive, Transistor};

/// A transistor must be known, and be one of its switch's kind.
pub(super) fn check(wanted: &LedString) -> Option<Diagnostic> {
    let Some(transistor) = &wanted.transistor else {
        return (wanted.drive.value != SwitchDrive::Plain).then(|| {
            let message = "how it is driven depends on the transistor";
            Diagnostic::error("E009", wanted.drive.span, message)
                .label("needs `transistor`")
                .hint("such as `transistor: 2n3904`")
        });
    };
    let name = match &transistor.value {
        Transistor::Named(name) => Spanned::new(name.as_str(), transistor.span),
        Transistor::Sheet(_) => return shared(wanted),
    };
    match find(name.value) {
        Some(entry) => suits(entry, name, wanted),
        None => Some(unknown(name)),
    }
}

fn unknown(name: Spanned<&str>) -> Diagnostic {
    let all = || entries().iter().map(|entry| entry.name.as_str());
    let hint = nearest(name.value).map_or_else(
        || {
            let all = all().collect::<Vec<_>>().join(", ");
            format!(
                "known are {all}; figures of its datasheet do as well: `transistor: {{storage: …}}`"
            )
        },
        |near| format!("did you mean `{near}`?"),
    );
    let message = format!("no transistor `{}` is known", short(name.value));
    Diagnostic::error("E009", name.span, message)
        .label("not in the catalogue")
        .hint(hint)
}

/// It must be of its switch's kind, and leave room for what drives it.
fn suits(entry: &Entry, name: Spanned<&str>, wanted: &LedString) -> Option<Diagnostic> {
    let (kind, word, article) = match entry.family {
        Family::Npn => (Switch::Npn, "npn", "an NPN"),
        Family::Darlington => (Switch::Npn, "npn", "a Darlington"),
        Family::Mosfet => (Switch::Mosfet, "mosfet", "a MOSFET"),
    };
    let is = format!("`{}` is {article}", short(name.value));
    if kind != wanted.switch.value {
        let fault = Diagnostic::error("E009", name.span, is)
            .label("the switch is of another kind")
            .hint(format!("use `switch: {word}`"));
        return Some(fault);
    }
    let drive = wanted.drive;
    if drive.value != SwitchDrive::Plain && entry.family != Family::Npn {
        let message = format!("{is}, with no base of yours");
        let fault = Diagnostic::error("E009", drive.span, message)
            .label("only an NPN has one that can be driven otherwise")
            .hint("leave `drive` out");
        return Some(fault);
    }
    shared(wanted)
}

/// What cannot be driven as it is asked for, whatever the part.
fn shared(wanted: &LedString) -> Option<Diagnostic> {
    let drive = wanted.drive;
    if drive.value != SwitchDrive::Plain && wanted.switch.value != Switch::Npn {
        let fault = Diagnostic::error("E009", drive.span, "only a base can be driven otherwise")
            .label("this switch has none")
            .hint("leave `drive` out");
        return Some(fault);
    }
    (drive.value == SwitchDrive::Sink && wanted.parallel.value > 1).then(|| {
        let message = "duskloom cannot share one sink among strings side by side";
        Diagnostic::error("E009", drive.span, message)
            .label(format!("there are {}", wanted.parallel.value))
            .hint("`drive: speed-up` or `clamp` keeps a resistor in each of them")
    })
}
