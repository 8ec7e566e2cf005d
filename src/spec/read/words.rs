//! Choices among a few words.

use super::{Node, Read, Report, scalar};
use crate::diagnostic::{Diagnostic, short};

/// A choice among a few words.
pub(in crate::spec) trait Words: Copy + 'static {
    /// With its article: "an ease".
    const WHAT: &'static str;
    /// Each word, its value, and what it means.
    const WORDS: &'static [(&'static str, Self, &'static str)];

    /// All its words.
    fn all() -> String {
        or_list(Self::WORDS.iter().map(|(word, ..)| *word))
    }
}

/// Declares the words of a choice and their meanings; gives its reader and its JSON Schema.
macro_rules! words {
    ($( $type:ident, $what:literal: { $( $word:literal => $value:ident: $meaning:literal, )* } )*) => { $(
        impl $crate::spec::read::Words for $type {
            const WHAT: &'static str = $what;
            const WORDS: &'static [(&'static str, Self, &'static str)] =
                &[$( ($word, Self::$value, $meaning) ),*];
        }

        impl $crate::spec::read::Read for $type {
            fn expected() -> String {
                <Self as $crate::spec::read::Words>::all()
            }

            fn read(
                node: &$crate::spec::yaml::Node,
                report: &mut $crate::diagnostic::Report,
            ) -> Option<Self> {
                $crate::spec::read::word::<Self, Self>(node, report)
            }
        }

        impl schemars::JsonSchema for $type {
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($type).into()
            }

            fn json_schema(_: &mut schemars::SchemaGenerator) -> schemars::Schema {
                schemars::json_schema!({
                    "description": $what,
                    "oneOf": [$( { "const": $word, "description": $meaning } ),*],
                })
            }
        }
    )* };
}

pub(in crate::spec) use words;

/// Reads one of the words `W` where a `T` is expected.
pub(in crate::spec) fn word<W: Words, T: Read>(node: &Node, report: &mut Report) -> Option<W> {
    let text = scalar::<T>(node, report)?.text.as_ref();
    let found = W::WORDS
        .iter()
        .find(|(word, ..)| *word == text)
        .map(|(_, value, _)| *value);
    if found.is_none() {
        let hint = match nearest(text, W::WORDS.iter().map(|(word, ..)| *word)) {
            Some(meant) => format!("did you mean `{meant}`?"),
            None => {
                let meanings = W::WORDS
                    .iter()
                    .map(|(word, _, means)| format!("`{word}`: {means}"));
                meanings.collect::<Vec<_>>().join("; ")
            }
        };
        report.push(
            Diagnostic::error(
                "S017",
                node.span,
                format!("`{}` is not {}", short(text), W::WHAT),
            )
            .label(format!("expected {}", T::expected()))
            .hint(hint),
        );
    }
    found
}

/// "`a`, `b` or `c`".
pub(in crate::spec) fn or_list<'w>(words: impl Iterator<Item = &'w str>) -> String {
    let quoted: Vec<_> = words.map(|word| format!("`{word}`")).collect();
    or_listed(&quoted)
}

/// "a, b or c".
pub(in crate::spec) fn or_listed(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [only] => only.clone(),
        [most @ .., last] => format!("{} or {last}", most.join(", ")),
    }
}

/// The word that was probably meant, if one is near enough.
pub(in crate::spec) fn nearest<'w>(
    word: &str,
    known: impl Iterator<Item = &'w str>,
) -> Option<&'w str> {
    let word = word.to_lowercase().replace('_', "-");
    if word.chars().count() > 40 {
        return None;
    }
    known
        .map(|candidate| {
            let plain = candidate.replace('_', "-");
            (strsim::damerau_levenshtein(&word, &plain), candidate)
        })
        .filter(|(distance, candidate)| {
            let length = candidate.chars().count();
            let one_too_many = *distance == 1 && word.chars().count() > length;
            *distance * 5 <= length * 2 || one_too_many
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}
