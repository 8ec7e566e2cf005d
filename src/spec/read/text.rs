//! Names: of projects, channels, patterns, chips and pins.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::{Node, Read, Report, scalar};
use crate::diagnostic::{Diagnostic, Span, short};

/// Words in the names of boards, which are not those of their chips.
const BOARDS: [&str; 4] = ["uno", "nano", "arduino", "pro mini"];

/// The longest name, in characters.
const LONGEST: usize = 32;

/// A name that is being given: lower-case letters, digits and hyphens, a letter first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::spec) struct Name(pub String);

/// A package, as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::spec) struct PackageName(pub String);

/// A chip, in lower case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::spec) struct ChipName(pub String);

/// A pin such as `PB2`, in upper case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(in crate::spec) struct PinName(pub String);

/// Text as it is: a reference to something that has a name.
impl Read for String {
    fn expected() -> String {
        "a name".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        scalar::<Self>(node, report).map(|scalar| scalar.text.to_string())
    }
}

impl Read for Name {
    fn expected() -> String {
        "a name such as `harbour-light`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let text = scalar::<Self>(node, report)?.text.as_ref();
        // A bad name is a name all the same, so that what refers to it is not called unknown.
        check_name(text, node.span, report);
        Some(Self(text.to_string()))
    }
}

impl Read for PackageName {
    fn expected() -> String {
        "a package such as `SOIC-8`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let text = scalar::<Self>(node, report)?.text.as_ref();
        Some(Self(text.to_string()))
    }
}

impl Read for ChipName {
    fn expected() -> String {
        "a chip such as `attiny2313a`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let written = scalar::<Self>(node, report)?.text.as_ref();
        let text = written.to_lowercase();
        if text.len() <= LONGEST && text.chars().all(|c| c.is_ascii_alphanumeric()) {
            return Some(Self(text));
        }
        report.push(
            Diagnostic::error(
                "S019",
                node.span,
                format!("`{}` is no chip's name", short(written)),
            )
            .label("expected letters and digits, such as `attiny2313a`")
            .hint(match text.split_once('-') {
                // What follows tells of speed and package, as in an order.
                Some((chip, _)) if chip.starts_with("at") => format!("did you mean `{chip}`?"),
                None if text.starts_with("at") && text.contains(' ') => {
                    format!("did you mean `{}`?", text.replace(' ', ""))
                }
                _ if BOARDS.iter().any(|board| text.contains(board)) => {
                    "the chip is what is written on the board's largest part, such as `atmega328p`"
                        .to_string()
                }
                _ => "`duskloom chips` lists the chips that are known".to_string(),
            }),
        );
        None
    }
}

impl Read for PinName {
    fn expected() -> String {
        "a pin such as `PB2`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let text = scalar::<Self>(node, report)?.text.to_uppercase();
        if is_pin(&text) {
            return Some(Self(text));
        }
        report.push(
            Diagnostic::error(
                "S020",
                node.span,
                format!("`{}` is not a pin's name", short(&text)),
            )
            .label("expected P, the port's letter and the bit, such as `PB2`")
            .hint(match format!("P{text}") {
                pin if is_pin(&pin) => format!("did you mean `{pin}`?"),
                _ => {
                    "use the port name of the datasheet, not the number of the package's leg".into()
                }
            }),
        );
        None
    }
}

/// Whether this is made like a pin's name.
pub(super) fn is_pin(text: &str) -> bool {
    matches!(text.as_bytes(), [b'P', b'A'..=b'L', b'0'..=b'7'])
}

/// Whether a name can be given; if not, the report says why.
pub(in crate::spec) fn check_name(name: &str, span: Span, report: &mut Report) -> bool {
    let letters = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let starts_well = name.starts_with(|c: char| c.is_ascii_lowercase());
    let well_made = starts_well && name.chars().all(letters) && !name.ends_with('-');
    let (fault, expected) = if name.chars().count() > LONGEST {
        (
            format!("a name of more than {LONGEST} characters"),
            format!("expected at most {LONGEST} characters"),
        )
    } else if !well_made {
        (
            format!("`{}` cannot be a name", short(name)),
            "expected lower-case letters, digits and hyphens, a letter first".to_string(),
        )
    } else if matches!(name, "all" | "rest" | "off" | "forever") {
        (
            format!("`{name}` means something of its own and cannot be a name"),
            "expected another word".to_string(),
        )
    } else {
        return true;
    };
    let better = sound_name(name);
    let hint = if is_pin(&name.to_uppercase()) {
        Some("a pin is given to a name: `quay: {pin: PB2}`".to_string())
    } else if better.is_empty() && name.chars().all(|c| c.is_ascii_digit()) {
        Some(format!("such as `light-{}`", short(name)))
    } else {
        (!better.is_empty() && better != name).then(|| format!("such as `{better}`"))
    };
    report.push(
        Diagnostic::error("S019", span, fault)
            .label(expected)
            .maybe_hint(hint),
    );
    false
}

/// The nearest that can be a name; empty if nothing is left.
pub(in crate::spec) fn sound_name(text: &str) -> String {
    let mut name = String::new();
    for c in text.to_lowercase().chars() {
        match c {
            'a'..='z' => name.push(c),
            '0'..='9' if !name.is_empty() => name.push(c),
            _ if !name.is_empty() && !name.ends_with('-') => name.push('-'),
            _ => {}
        }
        if name.len() == LONGEST {
            break;
        }
    }
    name.trim_end_matches('-').to_string()
}

macro_rules! text_schema {
    ($($type:ident, $pattern:literal;)*) => { $(
        impl JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                stringify!($type).into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({
                    "type": "string",
                    "description": <Self as Read>::expected(),
                    "pattern": $pattern,
                })
            }
        }
    )* };
}

text_schema! {
    Name, "^[a-z]([a-z0-9-]{0,30}[a-z0-9])?$";
    ChipName, "^[A-Za-z0-9]{1,32}$";
    PackageName, "^[A-Za-z]{2,5}-?[0-9]{1,2}$";
    PinName, "^[Pp][A-La-l][0-7]$";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sound_name_passes_its_own_check() {
        for text in ["Harbour Light", "9 lives", "quay_2", "--", "é", "UPPER"] {
            let name = sound_name(text);
            let mut report = Report::default();
            assert!(
                name.is_empty() || check_name(&name, Span::default(), &mut report),
                "{name}"
            );
        }
        assert_eq!(sound_name("Harbour Light_2"), "harbour-light-2");
    }
}
