//! Mappings with known keys.

use super::{Node, Read, Report, Value, nearest, or_list, wrong_shape};
use crate::diagnostic::{Diagnostic, Span, short};

/// Declares a mapping: its keys, their types, and in doc comments what each means. Gives the
/// struct (with `span`, the place of the whole), its reader, and its JSON Schema.
macro_rules! record {
    (
        $(#[$meta:meta])*
        $name:ident: $expected:literal { $( $(#[$field_meta:meta])* $field:ident: $type:ty, )* }
    ) => {
        $(#[$meta])*
        #[derive(Debug, Clone, schemars::JsonSchema)]
        #[schemars(deny_unknown_fields)]
        pub(in crate::spec) struct $name {
            $( $(#[$field_meta])* pub $field: $type, )*
            #[schemars(skip)]
            #[allow(dead_code, reason = "not every record is pointed at as a whole")]
            pub span: $crate::diagnostic::Span,
        }

        impl $crate::spec::read::Read for $name {
            fn expected() -> String {
                $expected.into()
            }

            fn read(
                node: &$crate::spec::yaml::Node,
                report: &mut $crate::diagnostic::Report,
            ) -> Option<Self> {
                let keys = &[$( stringify!($field).trim_start_matches("r#") ),*];
                let fields = $crate::spec::read::Fields::of::<Self>(node, keys, report)?;
                $(
                    let $field = fields.read::<$type>(
                        stringify!($field).trim_start_matches("r#"),
                        report,
                    );
                )*
                Some(Self { $( $field: $field?, )* span: node.span })
            }
        }
    };
}

pub(in crate::spec) use record;

/// The values of a mapping, by key.
pub(in crate::spec) struct Fields<'n, 's, 'k> {
    node: &'n Node<'s>,
    /// Keys that something unknown was taken for; to say that they are missing would add nothing.
    meant: Vec<&'k str>,
}

impl<'n, 's, 'k> Fields<'n, 's, 'k> {
    /// Takes a mapping, or nothing as an empty one; complains of keys that are not known.
    pub(crate) fn of<T: Read>(
        node: &'n Node<'s>,
        known: &[&'k str],
        report: &mut Report,
    ) -> Option<Self> {
        let mut meant = Vec::new();
        match &node.value {
            Value::Map(entries) => {
                for entry in entries {
                    let key = entry.key.value.as_ref();
                    if key == "<<" {
                        // It may bring any of them.
                        meant.extend(known);
                        report.push(merge_key(entry.key.span));
                    } else if !known.contains(&key) {
                        meant.extend(meant_key(key, known));
                        report.push(unknown_key(key, entry.key.span, known));
                    }
                }
            }
            _ if node.is_null() => {}
            Value::Scalar(_) | Value::List(_) => {
                wrong_shape::<T>(node, report);
                return None;
            }
        }
        Some(Self { node, meant })
    }

    /// The value of a key.
    pub(crate) fn read<T: Read>(&self, key: &str, report: &mut Report) -> Option<T> {
        match self.node.get(key) {
            Some(value) => T::read(value, report),
            None if self.meant.contains(&key) => {
                T::absent(key, self.node.span, &mut Report::default())
            }
            None => T::absent(key, self.node.span, report),
        }
    }
}

fn merge_key(span: Span) -> Diagnostic {
    Diagnostic::error("S009", span, "merge keys have no meaning here")
        .label("YAML 1.2 has none")
        .hint("write the keys out, or repeat a whole value with `*name`")
}

fn unknown_key(key: &str, span: Span, known: &[&str]) -> Diagnostic {
    let label = match meant_key(key, known) {
        _ if key.starts_with(|c: char| c.is_ascii_digit()) => {
            "a comma begins another key; decimals have a point".to_string()
        }
        _ if key.contains(':') => "a space belongs after the colon".to_string(),
        Some(meant) => format!("did you mean `{meant}`?"),
        None => "not a key of this mapping".to_string(),
    };
    let unknown = Diagnostic::error(
        "S011",
        span,
        format!("there is no key `{}` here", short(key)),
    )
    .label(label);
    let beyond = BEYOND.iter().find(|(words, _)| words.contains(&key));
    match beyond {
        Some((_, cannot)) => unknown.hint(format!("duskloom cannot {cannot}")),
        None => unknown.hint(format!("expected {}", or_list(known.iter().copied()))),
    }
}

/// The key that was probably meant, if one is near enough, or the same in other words.
fn meant_key<'k>(key: &str, known: &[&'k str]) -> Option<&'k str> {
    let same = SAME.iter().filter(|(words, _)| words.contains(&key));
    let find = |meant: &str| known.iter().find(|known| **known == meant).copied();
    nearest(key, known.iter().copied()).or_else(|| same.clone().find_map(|(_, meant)| find(meant)))
}

/// Other words for keys.
const SAME: [(&[&str], &str); 7] = [
    (&["colour", "color", "tint"], "light"),
    (&["light", "tint"], "colour"),
    (&["time", "duration", "for", "in"], "over"),
    (&["voltage", "vcc"], "volts"),
    (&["voltage", "drop", "vf"], "forward"),
    (&["output", "gpio", "port"], "pin"),
    (&["gamma"], "curve"),
];

/// What people ask for, by the words they try, and what cannot be done.
const BEYOND: [(&[&str], &str); 3] = [
    (
        &["rgb", "hue", "palette"],
        "mix colours: each colour of an LED is a channel, with a pattern of its own",
    ),
    (
        &["sound", "music", "microphone", "audio"],
        "listen: the light follows its patterns and its inputs",
    ),
    (
        &["remote", "infrared", "wifi", "bluetooth", "network", "app"],
        "be reached from afar: the light has inputs on its own pins",
    ),
];
