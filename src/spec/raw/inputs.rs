//! Contacts, and what is played once.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::diagnostic::{Report, Spanned};
use crate::spec::project::ButtonTo;
use crate::spec::read::{Needed, PinName, Read, record, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::Time;

/// What a switch chooses between.
#[derive(Debug, Clone)]
pub(in crate::spec) enum Selects {
    Shows,
    Patterns([Spanned<String>; 2]),
}

/// The word for the shows as they are written.
const SHOWS: &str = "shows";

impl Read for Selects {
    fn expected() -> String {
        format!("two patterns, such as `[calm, lively]`, or `{SHOWS}`")
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text == SHOWS => Some(Self::Shows),
            Value::List(_) => Read::read(node, report).map(Self::Patterns),
            Value::Scalar(_) | Value::Map(_) => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

impl JsonSchema for Selects {
    fn schema_name() -> Cow<'static, str> {
        "Selects".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let pair = generator.subschema_for::<[String; 2]>();
        json_schema!({
            "description": Self::expected(),
            "anyOf": [{"const": SHOWS}, pair],
        })
    }
}

record! {
    /// A contact from its pin to ground, or to the supply: a door's, a reed's, a switch, the output of a motion
    /// sensor. Either it plays a pattern once each time it closes, after which the scene before comes back; or
    /// it chooses between two shows, the first while it is open, the second while it is closed.
    Input: "an input such as `{pin: PD3, plays: welcome}`" {
        /// Its pin, such as `PD3`; any that is free.
        pin: Spanned<PinName>,
        /// The pattern that it plays.
        plays: Option<Needed<Spanned<String>>>,
        /// What it chooses between: two patterns, or the two `shows`.
        selects: Option<Needed<Spanned<Selects>>>,
        /// How long the pattern plays. Default: one round of it.
        r#for: Option<Spanned<Time>>,
        /// What it connects its pin to while it is closed. Default: ground.
        to: Option<Spanned<ButtonTo>>,
        /// How long it must be closed to count, and then open before it counts again. Default: 25 ms.
        debounce: Option<Spanned<Time>>,
    }
}

record! {
    /// What is played once when power comes, before the first scene.
    Start: "what is played first, such as `{plays: welcome}`" {
        /// The pattern.
        plays: Needed<Spanned<String>>,
        /// How long the pattern plays. Default: one round of it.
        r#for: Option<Spanned<Time>>,
    }
}

impl Input {
    /// What it plays, and what it chooses between, where that could be read.
    pub(in crate::spec) fn deeds(&self) -> (Option<&Spanned<String>>, Option<&Spanned<Selects>>) {
        let plays = self.plays.as_ref().and_then(|plays| plays.0.as_ref());
        let selects = self.selects.as_ref();
        (plays, selects.and_then(|selects| selects.0.as_ref()))
    }
}
