//! What to buy.

use serde::Serialize;

use crate::circuit::pump::BLEEDER;
use crate::circuit::{Circuit, GATE, Hung, PULL_DOWN, lowest_volts};
use crate::design::Design;
use crate::spec::{ClockSource, LedString, Rail, Switch, SwitchDrive, Transistor};
use crate::units::{Amps, Ohms, Volts, Watts};

/// A line of the parts list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Item {
    pub count: u32,
    /// Such as `330 ohm, 250 mW`.
    pub what: String,
    /// Where it goes.
    pub place: String,
}

impl Item {
    fn new(count: u32, what: impl Into<String>, place: impl Into<String>) -> Self {
        Self {
            count,
            what: what.into(),
            place: place.into(),
        }
    }
}

/// Voltage ratings of capacitors and transistors, over what they see (common practice, no source).
const IN_HAND: f64 = 1.5;
/// Usual voltage ratings of capacitors.
const RATINGS: [f64; 8] = [6.3, 10.0, 16.0, 25.0, 35.0, 50.0, 63.0, 100.0];

pub(super) fn parts(design: &Design, circuit: &Circuit) -> Vec<Item> {
    let mut parts = chip(design);
    let strings = design.project.electrics.strings.iter();
    for ((wanted, hung), channel) in strings.zip(&circuit.strings).zip(&design.project.channels) {
        if let (Some(wanted), Some(hung)) = (wanted, hung) {
            parts.extend(string(wanted, hung, &channel.name.value));
        }
    }
    parts.extend(smoothing(circuit));
    parts.extend(pump(design, circuit));
    parts.extend(supply(design));
    parts
}

fn chip(design: &Design) -> Vec<Item> {
    let plan = &design.plan;
    let supplies = plan.chip.packages[0]
        .legs
        .iter()
        .filter(|leg| leg.ends_with("VCC"))
        .count();
    let mut parts = vec![
        Item::new(
            1,
            format!("{}, {}", title(design), plan.chip.packages[0].name),
            "the chip",
        ),
        Item::new(
            supplies as u32,
            "100 nF ceramic",
            "each supply leg to ground, close to the chip",
        ),
        Item::new(1, "10 uF", "supply to ground, at the chip"),
        Item::new(1, "10 kohm", "reset to supply"),
    ];
    if plan.clock.source == ClockSource::Crystal {
        let crystal = format!("crystal {}", plan.clock.oscillator);
        parts.push(Item::new(1, crystal, "between the two crystal legs"));
        // Datasheets, 'Crystal Oscillator': 12 to 22 pF.
        parts.push(Item::new(
            2,
            "18 pF to 22 pF ceramic",
            "each crystal leg to ground",
        ));
    }
    if plan.button.is_some() {
        let supply = design.project.button_to_supply();
        parts.push(Item::new(
            1,
            "push button",
            if supply {
                "to the supply"
            } else {
                "to ground; the chip pulls up"
            },
        ));
        // What a hand and a long wire bring is kept from the leg (common practice, no source).
        parts.push(Item::new(1, "1 kohm", "button: in series, at its leg"));
        parts.push(Item::new(1, "100 nF ceramic", "button: its leg to ground"));
        if !supply {
            parts.push(Item::new(
                1,
                "4.7 kohm",
                "button: its leg to supply, where its wire is longer than 30 cm",
            ));
        }
        if supply {
            // Far below any pin's impedance, and half a milliampere while pressed: common practice,
            // no source.
            parts.push(Item::new(1, "10 kohm", "the button's leg to ground"));
        }
    }
    parts
}

/// With the version to buy, where there is more than one.
fn title(design: &Design) -> String {
    let plan = &design.plan;
    let lowest = lowest_volts(&design.project.electrics);
    let version = plan.chip.version_for(plan.clock.frequency, lowest);
    let suffix = version.map_or("", |version| version.suffix.as_str());
    format!("{}{suffix}", plan.chip.title)
}

/// What evens out the current that the budget averages over a period of the PWM (common practice,
/// no source).
fn smoothing(circuit: &Circuit) -> Vec<Item> {
    let rails = [
        (Rail::Supply, "supply"),
        (Rail::Input, "the regulator's input"),
    ];
    let used = rails.into_iter().filter(|(rail, _)| {
        let mut strings = circuit.strings.iter().flatten();
        strings.any(|hung| hung.rail == *rail)
    });
    used.map(|(_, name)| {
        let place = format!("{name} to ground, where its strings hang");
        Item::new(1, "47 uF to 100 uF", place)
    })
    .collect()
}

fn string(wanted: &LedString, hung: &Hung, name: &str) -> Vec<Item> {
    let string = &hung.string;
    let place = |what: &str| format!("{name}: {what}");
    let rating = string
        .rating
        .map_or(String::new(), |rating| format!(", {rating} or more"));
    let leds = format!("LED, {} at {}", wanted.forward.value, wanted.current.value);
    let each = match string.parallel {
        1 => "in series".to_string(),
        count => format!("{count} strings of {}", string.leds),
    };
    let mut parts = vec![
        Item::new(string.leds * string.parallel, leds, place(&each)),
        Item::new(
            string.parallel,
            format!("{}{rating}", string.resistor),
            place(match string.sink {
                Some(_) => "from the emitter to ground",
                None => "in series with each string",
            }),
        ),
    ];
    // In round figures, upwards.
    let total = Amps((string.most.0 * f64::from(string.parallel) * 1e3).ceil() / 1e3);
    let volts = Volts((hung.volts.0 * IN_HAND).ceil());
    match wanted.switch.value {
        Switch::Npn => parts.extend(npn(wanted, hung, name, total, volts)),
        Switch::Mosfet => {
            let transistor = format!(
                "{}, {total}, {volts} or more",
                kind(wanted, "logic-level N-channel MOSFET")
            );
            parts.push(Item::new(1, transistor, place("source to ground")));
            parts.push(Item::new(
                1,
                GATE.to_string(),
                place("from the leg to the gate"),
            ));
            parts.push(Item::new(
                1,
                PULL_DOWN.to_string(),
                place("gate to ground: off during reset"),
            ));
        }
        Switch::Pin => {}
    }
    parts
}

/// The transistor and what is around its base, for so much of all strings together.
fn npn(wanted: &LedString, hung: &Hung, name: &str, total: Amps, volts: Volts) -> Vec<Item> {
    let string = &hung.string;
    let place = |what: &str| format!("{name}: {what}");
    let mut parts = Vec::new();
    // Used at half of its rating, as resistors are.
    let heat = string.transistor_heat(hung.volts);
    let heat = heat.map_or_else(String::new, |heat| {
        format!(", {}", Watts((2e3 * heat.0).ceil() / 1e3))
    });
    let transistor = format!(
        "{}, {total}, {volts}{heat} or more",
        kind(wanted, "NPN transistor")
    );
    let emitter = match string.sink {
        Some(_) => "collector to the string",
        None => "emitter to ground",
    };
    parts.push(Item::new(1, transistor, place(emitter)));
    if wanted.drive.value == SwitchDrive::Clamp {
        let diode = "small Schottky diode, 30 mA or more";
        let place = place("base to collector, its cathode at the collector");
        parts.push(Item::new(1, diode, place));
    }
    if let Some(sink) = string.sink {
        let upper = place("from the leg to the base");
        parts.push(Item::new(1, sink.divider.upper.to_string(), upper));
        let lower = format!("{name}: base to ground, off during reset");
        parts.push(Item::new(1, sink.divider.lower.to_string(), lower));
    } else if let Some(base) = string.base.filter(|base| !base.built_in) {
        let capacitor = base.speed_up.map(|capacitor| {
            let what = format!("{capacitor} ceramic");
            Item::new(1, what, place("across the base's resistor"))
        });
        parts.extend(capacitor);
        let place = place("from the leg to the base");
        parts.push(Item::new(1, base.resistor.to_string(), place));
        // Legs float in reset and while the chip is programmed.
        let place = format!("{name}: base to emitter, off during reset");
        parts.push(Item::new(1, PULL_DOWN.to_string(), place));
    }
    parts
}

/// A switch by its name, or by its kind.
pub(super) fn kind(wanted: &LedString, kind: &str) -> String {
    match wanted.transistor.as_ref().map(|known| &known.value) {
        Some(Transistor::Named(name)) => name.to_uppercase(),
        Some(Transistor::Sheet(_)) => format!("{kind} with the figures given"),
        None => kind.to_string(),
    }
}

fn pump(design: &Design, circuit: &Circuit) -> Vec<Item> {
    let Some(pump) = &circuit.pump else {
        return Vec::new();
    };
    let open = pump.output(Amps(0.0));
    let rated = RATINGS
        .iter()
        .find(|&&rating| rating >= open.0 * IN_HAND)
        .map_or("rated for more than 100 V".to_string(), |rating| {
            format!("{} or more", Volts(*rating))
        });
    let what = format!("{}, {rated}", pump.capacitor);
    let swing = Volts(2.0 * pump.supply.0);
    let written = design.project.electrics.pump.as_ref();
    let resistor = written.map_or(Ohms(0.0), |written| written.resistor);
    let resistors = (resistor.0 > 0.0).then(|| {
        Item::new(
            2,
            resistor.to_string(),
            "charge pump: in series with each leg",
        )
    });
    let parts = vec![
        Item::new(
            pump.stages,
            what,
            "charge pump: from each node to its leg, in turn",
        ),
        Item::new(
            pump.stages + 1,
            format!("small Schottky diode, {swing} or more"),
            "charge pump: in a row from the supply to the output",
        ),
        Item::new(
            1,
            format!("{}, {rated}", pump.reservoir),
            "charge pump: output to ground",
        ),
        Item::new(
            1,
            BLEEDER.to_string(),
            "charge pump: output to ground, to discharge it",
        ),
    ];
    resistors.into_iter().chain(parts).collect()
}

fn supply(design: &Design) -> Vec<Item> {
    let electrics = &design.project.electrics;
    let mut parts = Vec::new();
    if let Some(supply) = &electrics.supply
        && let Some(regulator) = &supply.regulator
    {
        let what = format!(
            "linear regulator {}, dropout {}, {}",
            supply.volts.value, regulator.dropout, regulator.rating
        );
        parts.push(Item::new(
            1,
            what,
            "with the capacitors and the heat sink that its datasheet asks for",
        ));
    }
    if let Some(battery) = &electrics.battery {
        let what = format!("cell, {}, {}", battery.full, battery.capacity);
        parts.push(Item::new(battery.cells, what, "in series, with a fuse"));
    }
    parts
}
