//! The transistor that a string names.

use crate::circuit::switch::{Entry, Family, entries, find, nearest};
use crate::diagnostic::{Diagnostic, Spanned, short};
use crate::spec::{Drive, LedString, Switch};

/// A transistor must be known, and be one of its switch's kind.
pub(super) fn check(wanted: &LedString) -> Option<Diagnostic> {
    let Some(name) = &wanted.transistor else {
        return (wanted.drive.value != Drive::Plain).then(|| {
            let message = "how it is driven depends on the transistor";
            Diagnostic::error("E009", wanted.drive.span, message)
                .label("needs `transistor`")
                .hint("such as `transistor: 2n3904`")
        });
    };
    match find(&name.value) {
        Some(entry) => suits(entry, wanted),
        None => Some(unknown(name)),
    }
}

fn unknown(name: &Spanned<String>) -> Diagnostic {
    let all = || entries().iter().map(|entry| entry.name.as_str());
    let hint = nearest(&name.value).map_or_else(
        || {
            let all = all().collect::<Vec<_>>().join(", ");
            format!("known are {all}; without `transistor` the switch is taken as ideal")
        },
        |near| format!("did you mean `{near}`?"),
    );
    let message = format!("no transistor `{}` is known", short(&name.value));
    Diagnostic::error("E009", name.span, message)
        .label("not in the catalogue")
        .hint(hint)
}

/// It must be of its switch's kind, and leave room for what drives it.
fn suits(entry: &Entry, wanted: &LedString) -> Option<Diagnostic> {
    let name = wanted.transistor.as_ref()?;
    let (kind, word, article) = match entry.family {
        Family::Npn => (Switch::Npn, "npn", "an NPN"),
        Family::Darlington => (Switch::Npn, "npn", "a Darlington"),
        Family::Mosfet => (Switch::Mosfet, "mosfet", "a MOSFET"),
    };
    let is = format!("`{}` is {article}", short(&name.value));
    if kind != wanted.switch.value {
        let fault = Diagnostic::error("E009", name.span, is)
            .label("the switch is of another kind")
            .hint(format!("use `switch: {word}`"));
        return Some(fault);
    }
    let drive = wanted.drive;
    if drive.value != Drive::Plain && entry.family != Family::Npn {
        let message = format!("{is}, with no base of yours");
        let fault = Diagnostic::error("E009", drive.span, message)
            .label("only an NPN has one that can be driven otherwise")
            .hint("leave `drive` out");
        return Some(fault);
    }
    (drive.value == Drive::Sink && wanted.parallel.value > 1).then(|| {
        let message = "duskloom cannot share one sink among strings side by side";
        Diagnostic::error("E009", drive.span, message)
            .label(format!("there are {}", wanted.parallel.value))
            .hint("`drive: speed-up` or `clamp` keeps a resistor in each of them")
    })
}
