//! Shows: what the light does by itself and what the button does to it.

use schemars::JsonSchema;

use crate::diagnostic::{Diagnostic, Report, Spanned, short};
use crate::spec::project::Drawn;
use crate::spec::read::{MaybeEmpty, OneOrMany, Read, nearest, or_list, record, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::Time;

/// One show.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(rename_all = "snake_case")]
pub(in crate::spec) enum Show {
    /// A random other pattern after a random dwell.
    Roam(MaybeEmpty<Roam>),
    /// Fixed levels, equal steps apart; a tap goes to the next.
    Steady(MaybeEmpty<Steady>),
    /// One pattern until told otherwise; a tap goes to the next.
    Solo(MaybeEmpty<Solo>),
    /// One that could not be read; the report says why.
    #[schemars(skip)]
    Broken,
}

record! {
    /// A random other pattern after a random dwell.
    Roam: "settings such as `{dwell: 10 s .. 40 s}`" {
        /// How long a pattern plays, or a range. Default: 20 s .. 60 s.
        dwell: Option<Spanned<Drawn<Time>>>,
        /// The patterns to draw from. Default: all of the project's own.
        patterns: Option<Spanned<OneOrMany<Spanned<String>>>>,
    }
}

record! {
    /// Fixed levels, equal steps apart in lightness.
    Steady: "settings such as `{levels: 6}`" {
        /// How many levels, 1 to 32. Default: 6.
        levels: Option<Spanned<u32>>,
    }
}

record! {
    /// One pattern until told otherwise.
    Solo: "settings such as `{patterns: [evening]}`" {
        /// The patterns, in order of taps. Default: all of the project's own.
        patterns: Option<Spanned<OneOrMany<Spanned<String>>>>,
    }
}

/// Patterns where settings are expected, as they are written there.
fn bare(node: &Node) -> Option<String> {
    let name = |node: &Node| match &node.value {
        Value::Scalar(scalar) if scalar.text.starts_with(char::is_alphabetic) => {
            Some(short(&scalar.text).into_owned())
        }
        _ => None,
    };
    match &node.value {
        Value::List(items) => {
            let names: Option<Vec<String>> = items.iter().map(name).collect();
            names.map(|names| format!("[{}]", names.join(", ")))
        }
        _ => name(node),
    }
}

const KINDS: &[&str] = &["roam", "steady", "solo"];

impl Read for Show {
    fn expected() -> String {
        "a show such as `roam: {}`, `steady: {levels: 6}` or `solo: {}`".into()
    }

    /// Never `None`: a show that cannot be read still takes its place.
    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let entries = match &node.value {
            Value::Map(entries) => entries,
            Value::Scalar(scalar) if KINDS.contains(&scalar.text.as_ref()) => {
                report.push(
                    Diagnostic::error("S010", node.span, "a show has settings")
                        .label(format!("expected {}", Self::expected()))
                        .hint(format!("did you mean `{}: {{}}`?", scalar.text)),
                );
                return Some(Self::Broken);
            }
            Value::Scalar(scalar) if !node.is_null() => {
                let message = format!("`{}` is no show", short(&scalar.text));
                report.push(
                    Diagnostic::error("S010", node.span, message)
                        .label(format!("expected {}", Self::expected()))
                        .hint(format!(
                            "a pattern is on by `solo: {{patterns: {}}}`",
                            short(&scalar.text)
                        )),
                );
                return Some(Self::Broken);
            }
            Value::Scalar(_) | Value::List(_) => {
                wrong_shape::<Self>(node, report);
                return Some(Self::Broken);
            }
        };
        let [entry] = entries.as_slice() else {
            report.push(
                Diagnostic::error("S013", node.span, "a show is one key and its settings")
                    .label(format!("expected {}", Self::expected()))
                    .hint("give each show a line of its own that begins with `- `"),
            );
            return Some(Self::Broken);
        };
        let key = entry.key.value.as_ref();
        let patterns = bare(&entry.value).filter(|_| ["roam", "solo"].contains(&key));
        if let Some(patterns) = patterns {
            report.push(
                Diagnostic::error("S010", entry.value.span, "a show has settings")
                    .label(format!("expected {}", Solo::expected()))
                    .hint(format!("did you mean `{key}: {{patterns: {patterns}}}`?")),
            );
            return Some(Self::Broken);
        }
        let show = match key {
            "roam" => Read::read(&entry.value, report).map(Self::Roam),
            "steady" => Read::read(&entry.value, report).map(Self::Steady),
            "solo" => Read::read(&entry.value, report).map(Self::Solo),
            _ => {
                let hint = nearest(key, KINDS.iter().copied());
                report.push(
                    Diagnostic::error("S011", entry.key.span, format!("no show `{}`", short(key)))
                        .label(format!("expected {}", or_list(KINDS.iter().copied())))
                        .maybe_hint(hint.map(|meant| format!("did you mean `{meant}`?"))),
                );
                None
            }
        };
        Some(show.unwrap_or(Self::Broken))
    }
}
