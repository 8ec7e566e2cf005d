//! A string's transistor: a name, or what its datasheet says.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::diagnostic::{Report, Spanned};
use crate::spec::read::{Read, record, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::{Amps, Farads, Seconds, Volts};

record! {
    /// Figures of a transistor's datasheet.
    TransistorSheet: "figures of a datasheet, such as `{storage: 200 ns, at: 10 mA, hfe: 100, \
        input_capacitance: 8 pF, output_capacitance: 4 pF}`" {
        /// Storage time of an `npn`, the most.
        storage: Option<Spanned<Seconds>>,
        /// The collector's current with which that was measured.
        at: Option<Spanned<Amps>>,
        /// The base's current, into it and then out of it, with which that was measured. Default: a
        /// tenth of `at`.
        base: Option<Spanned<Amps>>,
        /// Gain of an `npn` at about that current, the least.
        hfe: Option<Spanned<f64>>,
        /// The voltage from which on the gate of a `mosfet` lets current through, typically.
        threshold: Option<Spanned<Volts>>,
        /// Of base to emitter (Cibo) or of the gate (Ciss).
        input_capacitance: Spanned<Farads>,
        /// Of base to collector (Cobo) or of the drain (Coss).
        output_capacitance: Spanned<Farads>,
    }
}

/// What switches a string.
#[derive(Debug, Clone)]
pub(in crate::spec) enum Transistor {
    Named(String),
    Sheet(TransistorSheet),
}

impl Read for Transistor {
    fn expected() -> String {
        format!(
            "a transistor's name such as `2n3904`, or {}",
            TransistorSheet::expected()
        )
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(_) if !node.is_null() => String::read(node, report).map(Self::Named),
            Value::Map(_) => TransistorSheet::read(node, report).map(Self::Sheet),
            Value::Scalar(_) | Value::List(_) => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

impl JsonSchema for Transistor {
    fn schema_name() -> Cow<'static, str> {
        "Transistor".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let sheet = generator.subschema_for::<TransistorSheet>();
        json_schema!({
            "description": "a transistor's name, or figures of its datasheet",
            "anyOf": [{ "type": "string" }, sheet],
        })
    }
}
