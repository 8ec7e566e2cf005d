//! Plain numbers and truth values: the few things that have no unit.

use super::{Node, Read, Report, scalar};
use crate::diagnostic::{Diagnostic, short};

macro_rules! plain {
    ($($type:ty: $expected:literal;)*) => { $(
        impl Read for $type {
            fn expected() -> String {
                $expected.into()
            }

            fn read(node: &Node, report: &mut Report) -> Option<Self> {
                let text = scalar::<Self>(node, report)?.text.as_ref();
                let value = text.parse::<$type>().ok().filter(|_| is_plain(text));
                if value.is_none() {
                    let message = format!("`{}` does not fit here", short(text));
                    report.push(
                        Diagnostic::error("S015", node.span, message)
                            .label(format!("expected {}", Self::expected())),
                    );
                }
                value
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

/// Digits and a point, or a word: no sign, exponent, infinity or NaN.
fn is_plain(text: &str) -> bool {
    matches!(text, "true" | "false")
        || (text.len() <= 24 && text.chars().all(|c| c.is_ascii_digit() || c == '.'))
}
