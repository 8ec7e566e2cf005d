//! Plain numbers and truth values: the few things that have no unit.

use std::str::FromStr;

use super::{Node, Read, Report, scalar};
use crate::diagnostic::{Diagnostic, short};

macro_rules! plain {
    ($($type:ty: $expected:literal;)*) => { $(
        impl Read for $type {
            fn expected() -> String {
                $expected.into()
            }

            fn read(node: &Node, report: &mut Report) -> Option<Self> {
                plain::<Self, Self>(node, report)
            }
        }
    )* };
}

plain! {
    u32: "a whole number such as `6`";
    u64: "a whole number such as `7`";
    f64: "a number such as `2.2`";
    bool: "`true` or `false`";
}

/// A whole number where a `T` is expected.
pub(in crate::spec) fn whole_number<T: Read>(node: &Node, report: &mut Report) -> Option<u32> {
    plain::<u32, T>(node, report)
}

/// A number or truth value where a `T` is expected.
fn plain<N: FromStr, T: Read>(node: &Node, report: &mut Report) -> Option<N> {
    let text = scalar::<T>(node, report)?.text.as_ref();
    let value = text.parse().ok().filter(|_| is_plain(text));
    if value.is_none() {
        let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
        let (code, fault) = match text.strip_prefix('-') {
            Some(rest) if digits(rest) => ("S016", "is below zero"),
            None if digits(text) => ("S016", "is too large"),
            _ => ("S015", "does not fit here"),
        };
        let meant = match text.to_lowercase().as_str() {
            "yes" | "on" => Some("true"),
            "no" | "off" => Some("false"),
            _ => None,
        };
        let meant = meant.filter(|meant| meant.parse::<N>().is_ok());
        report.push(
            Diagnostic::error(code, node.span, format!("`{}` {fault}", short(text)))
                .label(format!("expected {}", T::expected()))
                .maybe_hint(meant.map(|meant| format!("did you mean `{meant}`?"))),
        );
    }
    value
}

/// Digits and a point, or a word: no sign, exponent, infinity or NaN.
fn is_plain(text: &str) -> bool {
    matches!(text, "true" | "false")
        || (text.len() <= 24 && text.chars().all(|c| c.is_ascii_digit() || c == '.'))
}
