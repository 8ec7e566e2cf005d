//! Contacts, further buttons, a switch, a knob, and what is played once.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::diagnostic::{Report, Spanned};
use crate::spec::project::{ButtonTo, Senses, Sets, Tap};
use crate::spec::read::{Needed, PinName, Read, record, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::{Lux, Ohms, Time};

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
    /// it chooses between two shows, the first while it is open, the second while it is closed. Or a knob, a
    /// potentiometer between ground and supply with its wiper at the pin, which sets brightness or speed. Or a sensor of
    /// light, a light-dependent resistor from the pin to ground and a resistor from there to the supply: then the
    /// light is on while it is dark around, and off in the bright. Or a further button, whose `tap` goes to the next
    /// pattern or the one before, or makes all light brighter or darker.
    Input: "an input such as `{pin: PD3, plays: welcome}`" {
        /// Its pin, such as `PD3`; any that is free, but for a knob, which needs one of the converter's.
        pin: Spanned<PinName>,
        /// The pattern that it plays.
        plays: Option<Needed<Spanned<String>>>,
        /// What it chooses between: two patterns, or the two `shows`.
        selects: Option<Needed<Spanned<Selects>>>,
        /// What a knob sets.
        sets: Option<Needed<Spanned<Sets>>>,
        /// What a tap on a further button does.
        tap: Option<Needed<Spanned<Tap>>>,
        /// What a sensor senses.
        senses: Option<Needed<Spanned<Senses>>>,
        /// Of a sensor: at less the light comes on. Default: 10 lux, when street lamps do.
        dark: Option<Spanned<Lux>>,
        /// Of a sensor: at more the light goes off. Default: four times `dark`, so that its own does not.
        bright: Option<Spanned<Lux>>,
        /// Of a sensor: for how long it must be so, without a break. Default: 10 s.
        steady: Option<Spanned<Time>>,
        /// Of a sensor: the resistance of its light-dependent resistor at 10 lux. Default: 15 kohm.
        resistance: Option<Spanned<Ohms>>,
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

/// What an input does.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum Deed<'a> {
    Plays(&'a Spanned<String>),
    Selects(&'a Spanned<Selects>),
    Sets(Spanned<Sets>),
    Taps(Spanned<Tap>),
    Senses(Spanned<Senses>),
}

impl Input {
    /// What it does, where that could be read.
    pub(in crate::spec) fn deed(&self) -> Option<Deed<'_>> {
        let plays = self.plays.as_ref().and_then(|plays| plays.0.as_ref());
        let selects = self.selects.as_ref();
        let selects = selects.and_then(|selects| selects.0.as_ref());
        let sets = self.sets.as_ref().and_then(|sets| sets.0);
        let taps = self.tap.as_ref().and_then(|tap| tap.0);
        let senses = self.senses.as_ref().and_then(|senses| senses.0);
        (plays.map(Deed::Plays))
            .or(selects.map(Deed::Selects))
            .or(sets.map(Deed::Sets))
            .or(taps.map(Deed::Taps))
            .or(senses.map(Deed::Senses))
    }

    /// What it is said to do, by key.
    pub(in crate::spec) fn deeds(&self) -> Vec<&'static str> {
        let all = [
            ("plays", self.plays.is_some()),
            ("selects", self.selects.is_some()),
            ("sets", self.sets.is_some()),
            ("tap", self.tap.is_some()),
            ("senses", self.senses.is_some()),
        ];
        let said = all.into_iter().filter(|(_, said)| *said);
        said.map(|(key, _)| key).collect()
    }
}
