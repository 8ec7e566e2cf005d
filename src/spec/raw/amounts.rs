//! How long a step takes and how often it is played, where a word or a range may stand for a number.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::diagnostic::{Diagnostic, Report, short};
use crate::spec::project::{Drawn, Times};
use crate::spec::read::{Read, scalar, whole_number, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::Time;

/// One time of a rhythm.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Beat(pub Time);

impl Read for Beat {
    fn expected() -> String {
        Time::expected()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text.contains("..") => {
                let text = short(&scalar.text);
                let step = format!("{{set: 100 %, hold: {text}}}");
                report.push(
                    Diagnostic::error("S015", node.span, format!("`{text}` is a range"))
                        .label(format!("expected one value: {}", Self::expected()))
                        .hint(format!(
                            "a rhythm is fixed; a flash of drawn length is `{step}`"
                        )),
                );
                None
            }
            _ => Time::read(node, report).map(Self),
        }
    }
}

impl JsonSchema for Beat {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        Time::schema_name()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        generator.subschema_for::<Time>()
    }
}

/// How long to stay as it is.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum Pause {
    For(Drawn<Time>),
    Forever,
}

impl Read for Pause {
    fn expected() -> String {
        format!("{}, or `forever`", Drawn::<Time>::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text == "forever" => Some(Self::Forever),
            _ => Read::read(node, report).map(Self::For),
        }
    }
}

impl JsonSchema for Pause {
    fn schema_name() -> Cow<'static, str> {
        "Pause".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": Self::expected(),
            "anyOf": [generator.subschema_for::<Drawn<Time>>(), { "const": "forever" }],
        })
    }
}

/// A number of times, or `forever`.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Count(pub Times);

impl Read for Count {
    fn expected() -> String {
        "a whole number such as `3`, or `forever`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        times::<Self>(node, report).map(Self)
    }
}

/// A number of times, or `forever`, for who expects that or something more.
fn times<T: Read>(node: &Node, report: &mut Report) -> Option<Times> {
    match &node.value {
        Value::Scalar(scalar) if scalar.text == "forever" => Some(Times::Forever),
        _ => whole_number::<T>(node, report).map(Times::Count),
    }
}

/// As [`Count`], or a range to draw from.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum Rounds {
    Fixed(Times),
    Between(u32, u32),
}

impl Read for Rounds {
    fn expected() -> String {
        "a whole number such as `3`, a range such as `2 .. 5`, or `forever`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Some((low, high)) = scalar::<Self>(node, report)?.text.split_once("..") else {
            return times::<Self>(node, report).map(Self::Fixed);
        };
        let number = |text: &str| text.trim().parse().ok();
        match (number(low), number(high)) {
            (Some(low), Some(high)) if low > high => {
                report.push(
                    Diagnostic::error("S018", node.span, "a range that runs backwards")
                        .label("the lower end comes first")
                        .hint(format!("did you mean `{high} .. {low}`?")),
                );
                None
            }
            (Some(low), Some(high)) if low == high => Some(Self::Fixed(Times::Count(low))),
            (Some(low), Some(high)) => Some(Self::Between(low, high)),
            _ => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

impl JsonSchema for Rounds {
    fn schema_name() -> Cow<'static, str> {
        "Rounds".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": Self::expected(),
            "anyOf": [
                { "type": "integer", "minimum": 1 },
                { "type": "string", "pattern": r"^\d+ *\.\. *\d+$" },
                { "const": "forever" },
            ],
        })
    }
}

impl JsonSchema for Count {
    fn schema_name() -> Cow<'static, str> {
        "Count".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": Self::expected(),
            "anyOf": [{ "type": "integer", "minimum": 1 }, { "const": "forever" }],
        })
    }
}
