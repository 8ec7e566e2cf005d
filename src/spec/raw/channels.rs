//! Channels: the strings of lights.

use schemars::JsonSchema;

use super::Glow;
use crate::diagnostic::{Diagnostic, Report, Spanned};
use crate::spec::project::{Active, ChannelDrive};
use crate::spec::read::{MaybeEmpty, Name, Named, OneOrMany, PinName, Read, record, words};
use crate::spec::yaml::{Node, Value};
use crate::units::Share;

/// The strings of lights.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(untagged)]
pub(in crate::spec) enum Channels {
    /// How many; they are called `ch1`, `ch2` and so on, and get the pins that suit best.
    Count(Spanned<u32>),
    /// Their names; they get the pins that suit best.
    Names(Spanned<Vec<Spanned<Name>>>),
    /// Their names and what is special about each; an entry may be empty.
    Settings(Named<MaybeEmpty<Channel>>),
}

impl Read for Channels {
    fn expected() -> String {
        "how many, such as `4`, or a list of names, or a mapping such as `quay: {pin: PB2}`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(_) => Read::read(node, report).map(Self::Count),
            Value::List(items) if items.iter().any(|item| matches!(item.value, Value::Map(_))) => {
                report.push(
                    Diagnostic::error("S010", node.span, "a list of mappings does not fit here")
                        .label(format!("expected {}", Self::expected()))
                        .hint(
                            "channels with settings are written without dashes: `quay: {pin: PB2}`",
                        ),
                );
                None
            }
            Value::List(_) => Read::read(node, report).map(Self::Names),
            Value::Map(_) => Read::read(node, report).map(Self::Settings),
        }
    }
}

record! {
    /// One string of lights.
    Channel: "a channel such as `{pin: PB2}`" {
        /// The pin that drives it, such as `PB2`. Default: one that suits.
        pin: Option<Spanned<PinName>>,
        /// The group, or groups, it belongs to.
        group: Option<OneOrMany<Spanned<String>>>,
        /// Scales its light, for a string that looks brighter than the others. Default: 100 %.
        trim: Option<Spanned<Share>>,
        /// The pin level that lights it. Default: high.
        active: Option<Spanned<Active>>,
        /// What is done with it: dimmed, or only switched. Default: dimmed.
        drive: Option<Spanned<ChannelDrive>>,
        /// The colour of its light, for pictures, previews and the parts list; the firmware is the same.
        /// Default: as its string's `colour` looks, else warm white.
        light: Option<Spanned<Glow>>,
    }
}

words! {
    Active, "a pin level": {
        "high" => High: "the string is lit while the pin is high",
        "low" => Low: "the string is lit while the pin is low",
    }
    ChannelDrive, "a channel's drive": {
        "dimmed" => Dimmed: "as bright as a pattern says",
        "plain" => Plain: "on from 50 % up, and else off: for a lamp or a relay, on any pin",
    }
}
