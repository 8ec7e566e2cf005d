//! Shapes that hold other values: places, options, lists, pairs, mappings with free keys.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::{Node, Read, Report, Value, does_not_fit, wrong_shape};
use crate::diagnostic::{Diagnostic, Span, Spanned, short};

impl<T: Read> Read for Spanned<T> {
    fn expected() -> String {
        T::expected()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        Some(Self::new(T::read(node, report)?, node.span))
    }

    fn nothing(node: &Node, report: &mut Report) -> Option<Self> {
        T::nothing(node, report).map(|nothing| Self::new(nothing, node.span))
    }
}

/// A value that cannot be read is as good as absent: the error is in the report, and reading goes
/// on to find the others.
impl<T: Read> Read for Option<T> {
    fn expected() -> String {
        T::expected()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        Some(if node.is_null() {
            T::nothing(node, report)
        } else {
            T::read(node, report)
        })
    }

    fn absent(_: &str, _: Span, _: &mut Report) -> Option<Self> {
        Some(None)
    }
}

/// Must be there, but reading goes on without it to find other errors.
#[derive(Debug, Clone)]
pub(in crate::spec) struct Needed<T>(pub Option<T>);

impl<T: Read> Read for Needed<T> {
    fn expected() -> String {
        T::expected()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        Some(Self(T::read(node, report)))
    }

    fn absent(key: &str, owner: Span, report: &mut Report) -> Option<Self> {
        Some(Self(T::absent(key, owner, report)))
    }
}

/// A mapping that may be left empty: `tower:` alone is as good as `tower: {}`.
#[derive(Debug, Clone)]
pub(in crate::spec) struct MaybeEmpty<T>(pub T);

impl<T: Read> Read for MaybeEmpty<T> {
    fn expected() -> String {
        T::expected()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        T::read(node, report).map(Self)
    }

    fn nothing(node: &Node, report: &mut Report) -> Option<Self> {
        Self::read(node, report)
    }
}

impl<T: Read> Read for Vec<T> {
    fn expected() -> String {
        format!("a list, each item {}", T::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Value::List(items) = &node.value else {
            let hint = "a list is written in brackets, or a line an item, each after `- `";
            let hint = (!node.is_null()).then(|| hint.to_string());
            report.push(does_not_fit::<Self>(node).maybe_hint(hint));
            return None;
        };
        Some(
            items
                .iter()
                .filter_map(|item| T::read(item, report))
                .collect(),
        )
    }
}

impl<T: Read> Read for [T; 2] {
    fn expected() -> String {
        format!("a list of two, each {}", T::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::List(items) if items.len() == 2 => {
                let first = T::read(&items[0], report);
                let second = T::read(&items[1], report);
                Some([first?, second?])
            }
            Value::List(items) => {
                let message = format!("a list of {} where two are needed", items.len());
                let label = format!("expected {}", Self::expected());
                report.push(Diagnostic::error("S010", node.span, message).label(label));
                None
            }
            Value::Scalar(_) | Value::Map(_) => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

/// A mapping whose keys the person chooses, in the order written. An entry whose value cannot be
/// read keeps its name, so that what refers to it is not called unknown.
#[derive(Debug, Clone)]
pub(in crate::spec) struct Named<T> {
    pub entries: Vec<(Spanned<String>, Option<T>)>,
    pub span: Span,
}

impl<T: Read> Read for Named<T> {
    fn expected() -> String {
        format!("a mapping from names to {}", T::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Value::Map(entries) = &node.value else {
            let hint = matches!(node.value, Value::List(_))
                .then(|| "each begins with its name and a colon, without a dash".to_string());
            report.push(does_not_fit::<Self>(node).maybe_hint(hint));
            return None;
        };
        let entries = entries
            .iter()
            .map(|entry| {
                let name = Spanned::new(entry.key.value.to_string(), entry.key.span);
                (name, T::read(&entry.value, report))
            })
            .collect();
        Some(Self {
            entries,
            span: node.span,
        })
    }
}

/// One value, or a list of them.
#[derive(Debug, Clone)]
pub(in crate::spec) struct OneOrMany<T>(pub Vec<T>);

impl<T: Read> Read for OneOrMany<T> {
    fn expected() -> String {
        format!("{}, or a list of them", T::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::List(_) => Vec::read(node, report).map(Self),
            Value::Scalar(_) | Value::Map(_) => T::read(node, report).map(|one| Self(vec![one])),
        }
    }
}

/// `off`, or a value.
#[derive(Debug, Clone)]
pub(in crate::spec) enum Switchable<T> {
    Off,
    On(T),
}

impl<T: Read> Read for Switchable<T> {
    fn expected() -> String {
        format!("`off` or {}", T::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text == "off" => Some(Self::Off),
            Value::Scalar(scalar) if matches!(scalar.text.as_ref(), "false" | "no" | "none") => {
                let message = format!("`{}` does not fit here", short(&scalar.text));
                report.push(
                    Diagnostic::error("S015", node.span, message)
                        .label(format!("expected {}", Self::expected()))
                        .hint("did you mean `off`?"),
                );
                None
            }
            Value::Scalar(scalar) if matches!(scalar.text.as_ref(), "true" | "yes" | "on") => {
                let message = format!("`{}` does not fit here", short(&scalar.text));
                report.push(
                    Diagnostic::error("S015", node.span, message)
                        .label(format!("expected {}", Self::expected()))
                        .hint("leave the line out for the usual"),
                );
                None
            }
            _ => T::read(node, report).map(Self::On),
        }
    }
}

macro_rules! same_schema {
    ($($wrapper:ident),*) => { $(
        impl<T: JsonSchema> JsonSchema for $wrapper<T> {
            fn inline_schema() -> bool {
                T::inline_schema()
            }

            fn schema_name() -> Cow<'static, str> {
                T::schema_name()
            }

            fn schema_id() -> Cow<'static, str> {
                T::schema_id()
            }

            fn json_schema(generator: &mut SchemaGenerator) -> Schema {
                T::json_schema(generator)
            }
        }
    )* };
}

same_schema!(Spanned, Needed);

impl<T: JsonSchema> JsonSchema for Named<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Named{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "object",
            "additionalProperties": generator.subschema_for::<T>(),
        })
    }
}

impl<T: JsonSchema> JsonSchema for OneOrMany<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("OneOrMany{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let one = generator.subschema_for::<T>();
        json_schema!({ "anyOf": [one.clone(), { "type": "array", "items": one }] })
    }
}

impl<T: JsonSchema> JsonSchema for MaybeEmpty<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("MaybeEmpty{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [generator.subschema_for::<T>(), { "type": "null" }] })
    }
}

impl<T: JsonSchema> JsonSchema for Switchable<T> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        format!("Switchable{}", T::schema_name()).into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({ "anyOf": [{ "const": "off" }, generator.subschema_for::<T>()] })
    }
}
