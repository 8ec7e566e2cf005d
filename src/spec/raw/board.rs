//! What is around the chip: clock, button, memory, charge pump.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::Diode;
use crate::diagnostic::{Diagnostic, Report, Spanned, short};
use crate::spec::project::{self, ButtonTo, ClockSource, Flashing, Senses, Sets, Starts, Tap};
use crate::spec::read::{PinName, Quantity, Read, Words, leading_quantity, record, words};
use crate::spec::yaml::{Node, Value};
use crate::units::{Farads, Hertz, Ohms, Time};

/// The processor's clock, such as `8 MHz internal`.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Clock(pub project::Clock);

words! {
    ClockSource, "a clock source": {
        "internal" => Internal: "the chip's own oscillator",
        "crystal" => Crystal: "a crystal or resonator on the two crystal pins",
        "external" => External: "a clock signal fed into the clock pin",
    }
    ButtonTo, "what a button or a contact connects its pin to": {
        "ground" => Ground: "ground; the chip's own pull-up is used",
        "supply" => Supply: "the supply; a resistor from the pin to ground is needed",
    }
    Sets, "what a knob sets": {
        "brightness" => Brightness: "how much of all light is there, from dark to all of it",
        "speed" => Speed: "how fast patterns go, from nearly still to as they are written",
    }
    Senses, "what a sensor senses": {
        "light" => Light: "how bright it is in the room: a light-dependent resistor",
    }
    Tap, "what a tap on a further button does": {
        "next" => Next: "the next pattern or level of the show",
        "previous" => Previous: "the one before",
        "brighter" => Brighter: "a step brighter, and on while it is held",
        "darker" => Darker: "a step darker, and on while it is held; the least step still lights",
    }
    Starts, "how the light is when power comes": {
        "dark" => Dark: "off, until the button is pressed",
    }
    Flashing, "what to do about flashing": {
        "refused" => Refused: "an error",
        "accepted" => Accepted: "a caution, and a notice on the wiring card",
    }
}

/// Most chips' own oscillators are no faster.
const FASTEST_INSIDE: f64 = 8e6;

impl Read for Clock {
    fn expected() -> String {
        "a clock such as `8 MHz internal` or `16 MHz crystal`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Value::Scalar(scalar) = &node.value else {
            crate::spec::read::wrong_shape::<Self>(node, report);
            return None;
        };
        let (frequency, source) = leading_quantity::<Hertz>(&scalar.text, node.span)
            .map_err(|fault| {
                report.push(match fault.hint {
                    Some(_) => fault,
                    None => fault.hint("the frequency comes first: `8 MHz internal`"),
                });
            })
            .ok()?;
        let known = ClockSource::WORDS.iter().find(|(word, ..)| *word == source);
        if known.is_none() {
            let message = if source.is_empty() {
                "the clock's source is missing".to_string()
            } else {
                format!("`{}` is not a clock source", short(source))
            };
            report.push(
                Diagnostic::error("S017", node.span, message)
                    .label(format!("expected the frequency and {}", ClockSource::all()))
                    .hint(match frequency {
                        Hertz(fast) if fast > FASTEST_INSIDE => {
                            format!("such as `{frequency} crystal`")
                        }
                        _ => format!("such as `{frequency} internal`"),
                    }),
            );
        }
        known.map(|&(_, source, _)| Self(project::Clock { frequency, source }))
    }
}

impl JsonSchema for Clock {
    fn schema_name() -> Cow<'static, str> {
        "Clock".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let sources: Vec<_> = ClockSource::WORDS.iter().map(|(word, ..)| *word).collect();
        json_schema!({
            "type": "string",
            "description": Self::expected(),
            "pattern": format!("^{} +({})$", Hertz::pattern(), sources.join("|")),
        })
    }
}

record! {
    /// A button from its pin to ground, or to the supply. A tap goes to the next pattern or level,
    /// a hold to the next show.
    Button: "a button such as `{pin: PD2}`" {
        /// Its pin, such as `PD2`.
        pin: Spanned<PinName>,
        /// What it connects its pin to while it is pressed. Default: ground.
        to: Option<Spanned<ButtonTo>>,
        /// How long a press must last to be a hold. Default: 800 ms.
        hold: Option<Spanned<Time>>,
        /// How long a press must last to count at all. Default: 25 ms.
        debounce: Option<Spanned<Time>>,
    }
}

record! {
    /// The button switches the light off and on: off is dark and in the deepest sleep from which the chip
    /// wakes. On again, it is as when power comes.
    Standby: "standby settings such as `{hold: 3 s}`" {
        /// How long the button must be held for the light to go off. Default: 3 s.
        hold: Option<Spanned<Time>>,
        /// `dark`: it is off when power comes. Default: it is on.
        starts: Option<Spanned<Starts>>,
    }
}

record! {
    /// On for some hours from power-up or from the press that woke it, then dark and asleep until a day is over;
    /// and so every day. A press in the dark begins an evening there and then.
    Evening: "an evening such as `{on: 5 h}`" {
        /// For how long it is on.
        on: Spanned<Time>,
        /// From one evening to the next. Default: 24 h.
        every: Option<Spanned<Time>>,
    }
}

record! {
    /// Show, pattern and level survive a power cut, and so does the brightness that buttons set.
    Memory: "memory settings such as `{after: 3 s}`" {
        /// Quiet time before a change is written. Default: 3 s, or what `standby` leaves for it.
        after: Option<Spanned<Time>>,
    }
}

record! {
    /// Two pins that clock a charge pump in opposite phase. With `stages` and `capacitor`, its
    /// voltage is computed.
    ChargePump: "a charge pump such as `{pins: [PD0, PD1]}`" {
        /// The two pins, of one port.
        pins: [Spanned<PinName>; 2],
        /// The pump's clock. Default: half the PWM frequency; beside a port, near a 512th of the processor's.
        clock: Option<Spanned<Hertz>>,
        /// How many capacitors are pumped, 1 to 12; there is one diode more.
        stages: Option<Spanned<u32>>,
        /// Each of the pumped capacitors, such as `1 uF`.
        capacitor: Option<Spanned<Farads>>,
        /// The capacitor at the output. Default: ten times `capacitor`.
        reservoir: Option<Spanned<Farads>>,
        /// In series with each of the two pins, such as `100 ohm`: it limits what the pins carry
        /// into empty capacitors. Default: none.
        resistor: Option<Spanned<Ohms>>,
        /// What a diode drops: a voltage, or two points of its curve such as
        /// `[[1 mA, 300 mV], [10 mA, 380 mV]]`. Default: 380 mV.
        diode: Option<Spanned<Diode>>,
    }
}
