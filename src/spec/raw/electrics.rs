//! What hangs on the chip: LEDs and their switches, the supply, the battery, the pump's diodes.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::Transistor;
use crate::diagnostic::{Report, Spanned};
use crate::spec::project::{CellKind, Colour, Drawn, Rail, Series, Switch, SwitchDrive};
use crate::spec::read::{Quantity, Read, record, words, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::{AmpHours, Amps, Farads, Ohms, Share, Volts, Watts};

record! {
    /// The LEDs of a channel, in series, with what switches them.
    LedString: "a string such as `{leds: 3, forward: 2.1 V, current: 10 mA}`" {
        /// How many LEDs in series. Default: 1.
        leds: Option<Spanned<u32>>,
        /// How many such strings side by side, each with its resistor. Default: 1.
        parallel: Option<Spanned<u32>>,
        /// What one LED drops at the wanted current, typically.
        forward: Spanned<Volts>,
        /// From the least to the most that one LED may drop. Default: 10 % either way.
        spread: Option<Spanned<Drawn<Volts>>>,
        /// The current wanted through each string.
        current: Spanned<Amps>,
        /// What switches it. Default: `npn`.
        switch: Option<Spanned<Switch>>,
        /// What an `npn` drops when it is on. Default: as its transistor does, else 200 mV.
        saturation: Option<Spanned<Volts>>,
        /// Collector current over base current with which an `npn` is driven. Default: 20.
        gain: Option<Spanned<f64>>,
        /// What a `mosfet` resists when it is on. Default: as its transistor does, else 0.1 ohm.
        on_resistance: Option<Spanned<Ohms>>,
        /// What its pin resists when it drives. Default: as the chip's datasheet has it.
        pin_resistance: Option<Spanned<Ohms>>,
        /// Its transistor, by name such as `2n3904` or by figures of its datasheet: then the light at
        /// the LED is known. Default: one without delay.
        transistor: Option<Spanned<Transistor>>,
        /// How its `npn` is driven. Default: `plain`.
        drive: Option<Spanned<SwitchDrive>>,
        /// Of one LED on a pin, whose capacitance takes the first of every pulse: some 30 pF.
        /// Default: none.
        capacitance: Option<Spanned<Farads>>,
        /// Of its light: what it looks like on a screen, and how much of it is lost to warmth.
        /// Default: taken as warm white.
        colour: Option<Spanned<Colour>>,
        /// Where its current comes from. Default: the pump, if its circuit is given, else the supply.
        from: Option<Spanned<Rail>>,
        /// The values that resistors are taken from. Default: `e12`.
        series: Option<Spanned<Series>>,
    }
}

words! {
    Switch, "a switch": {
        "npn" => Npn: "an NPN transistor between the string and ground",
        "mosfet" => Mosfet: "an N-channel MOSFET between the string and ground",
        "pin" => Pin: "straight from the pin",
    }
    SwitchDrive, "a way to drive a transistor": {
        "plain" => Plain: "through a resistor",
        "speed-up" => SpeedUp: "with a capacitor across the base's resistor, so that it is off in time",
        "clamp" => Clamp: "with a Schottky diode from base to collector, so that it does not saturate",
        "sink" => Sink: "as a current sink: its base on a divider, a resistor at its emitter in place of the string's",
    }
    Colour, "a colour": {
        "warm-white" => WarmWhite: "of an incandescent lamp",
        "white" => White: "of day",
        "red" => Red: "about 625 nm",
        "orange" => Orange: "about 610 nm",
        "amber" => Amber: "about 592 nm",
        "yellow" => Yellow: "about 587 nm",
        "green" => Green: "about 525 nm, of the bright kind",
        "blue" => Blue: "about 470 nm",
    }
    CellKind, "a kind of cell": {
        "aa" => Aa: "alkaline, LR6",
        "aaa" => Aaa: "alkaline, LR03",
        "nimh" => Nimh: "rechargeable, nickel and metal hydride, of the size AA",
        "nine-volt" => NineVolt: "an alkaline block, 6LR61",
        "cr2032" => Cr2032: "a lithium coin cell",
    }
    Rail, "a rail": {
        "supply" => Supply: "what feeds the chip",
        "input" => Input: "what goes into the regulator",
        "pump" => Pump: "the charge pump's output",
    }
    Series, "a series of preferred values": {
        "e12" => E12: "12 values a decade (IEC 60063)",
        "e24" => E24: "24 values a decade (IEC 60063)",
    }
}

record! {
    /// What feeds the chip and the strings.
    Supply: "a supply such as `{volts: 5 V, limit: 500 mA}`" {
        /// The chip's voltage. Default: 5 V, or the battery's when there is no regulator.
        volts: Option<Spanned<Volts>>,
        /// How far it may be off, either way. Default: 5 %.
        tolerance: Option<Spanned<Share>>,
        /// The most it can deliver.
        limit: Option<Spanned<Amps>>,
        /// What it feeds besides chip and strings, all the time. Default: nothing.
        other: Option<Spanned<Amps>>,
        /// A linear regulator that makes it.
        regulator: Option<Regulator>,
    }
}

record! {
    /// A linear regulator.
    Regulator: "a regulator such as `{input: 9 V, dropout: 2 V}`" {
        /// Its input voltage, or a range. Default: what the battery gives.
        input: Option<Spanned<Drawn<Volts>>>,
        /// What must be left between input and output. Default: 2 V.
        dropout: Option<Spanned<Volts>>,
        /// What it draws itself. Default: 5 mA.
        quiescent: Option<Spanned<Amps>>,
        /// What it can turn into heat as it is mounted. Default: 500 mW.
        rating: Option<Spanned<Watts>>,
    }
}

record! {
    /// A battery of cells in series.
    Battery: "a battery such as `{cells: 3, full: 1.5 V, empty: 0.9 V, capacity: 2000 mAh}`" {
        /// How many cells in series. Default: 1.
        cells: Option<Spanned<u32>>,
        /// What kind they are of, which says how much they resist. Default: they resist nothing.
        kind: Option<Spanned<CellKind>>,
        /// A cell's voltage when it is full.
        full: Spanned<Volts>,
        /// A cell's voltage at which its capacity is used up.
        empty: Spanned<Volts>,
        /// What a cell holds.
        capacity: Spanned<AmpHours>,
        /// A cell's voltage at which the light is switched off. Default: `empty`.
        cut_off: Option<Spanned<Volts>>,
        /// What it loses by itself in a year. Default: 3 %.
        self_discharge: Option<Spanned<Share>>,
    }
}

record! {
    /// Spares the cells: the chip measures its supply against a reference of its own. When they are low the light
    /// dims, when they are spent it goes, and comes back only once they were changed.
    Guard: "a guard of the battery such as `{dim: 1.15 V, off: 1 V}`" {
        /// A cell's voltage at which the light dims. Default: where a quarter is left between `off` and a full one.
        dim: Option<Spanned<Volts>>,
        /// A cell's voltage at which it goes. Default: the battery's `cut_off`, else its `empty`.
        off: Option<Spanned<Volts>>,
        /// To how much it dims, as a share of lightness. Default: 50 %.
        to: Option<Spanned<Share>>,
        /// What the chip's own reference measures, where somebody measured it. Default: what its datasheet says
        /// of such chips, which may be a tenth off.
        reference: Option<Spanned<Volts>>,
    }
}

/// What the pump's diodes drop.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum Diode {
    Drop(Volts),
    Points([(Amps, Volts); 2]),
}

/// A point of a diode's curve.
#[derive(Debug, Clone, Copy)]
struct Point(Amps, Volts);

impl Read for Diode {
    fn expected() -> String {
        "a diode's drop such as `380 mV`, or two points of its curve such as \
         `[[1 mA, 300 mV], [10 mA, 380 mV]]`"
            .into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::List(_) => <[Point; 2]>::read(node, report)
                .map(|points| Self::Points(points.map(|Point(current, drop)| (current, drop)))),
            Value::Scalar(_) => Volts::read(node, report).map(Self::Drop),
            Value::Map(_) => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

impl Read for Point {
    fn expected() -> String {
        "a point such as `[1 mA, 300 mV]`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Value::List(parts) = &node.value else {
            wrong_shape::<Self>(node, report);
            return None;
        };
        let [current, drop] = parts.as_slice() else {
            wrong_shape::<Self>(node, report);
            return None;
        };
        let (current, drop) = (Amps::read(current, report), Volts::read(drop, report));
        Some(Self(current?, drop?))
    }
}

impl JsonSchema for Point {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        "DiodePoint".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "array",
            "prefixItems": [generator.subschema_for::<Amps>(), generator.subschema_for::<Volts>()],
            "minItems": 2,
            "maxItems": 2,
        })
    }
}

impl JsonSchema for Diode {
    fn schema_name() -> Cow<'static, str> {
        "Diode".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let point = generator.subschema_for::<Point>();
        json_schema!({
            "description": Self::expected(),
            "anyOf": [
                { "type": "string", "pattern": format!("^{}$", Volts::pattern()) },
                { "type": "array", "items": point, "minItems": 2, "maxItems": 2 },
            ],
        })
    }
}
