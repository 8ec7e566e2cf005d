//! Each string with its switch, drawn.

use serde::Serialize;

use crate::circuit::{Circuit, GATE, Hung, PULL_DOWN, Sink};
use crate::design::Design;
use crate::spec::{Active, LedString, Switch, SwitchDrive, Transistor};
use crate::units::{Farads, Ohms};

/// How the strings of some channels are wired, all alike.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drawing {
    /// By name, each with its pin.
    pub of: Vec<String>,
    /// In plain ASCII.
    pub lines: Vec<String>,
}

/// Of all channels with a string, those that are alike drawn once.
pub(super) fn drawings(design: &Design, circuit: &Circuit) -> Vec<Drawing> {
    let strings = design.project.electrics.strings.iter();
    let channels = design
        .project
        .channels
        .iter()
        .zip(design.plan.drive.channels());
    let mut all: Vec<Drawing> = Vec::new();
    for (((channel, place), wanted), hung) in channels.zip(strings).zip(&circuit.strings) {
        let (Some(wanted), Some(hung)) = (wanted, hung) else {
            continue;
        };
        let of = format!("{} on {}", channel.name.value, place.pin);
        let lines = lines(wanted, hung, place.active);
        match all.iter_mut().find(|drawing| drawing.lines == lines) {
            Some(drawing) => drawing.of.push(of),
            None => all.push(Drawing {
                of: vec![of],
                lines,
            }),
        }
    }
    all
}

fn lines(wanted: &LedString, hung: &Hung, active: Active) -> Vec<String> {
    let rail = format!("{} {}", hung.rail.text(), hung.volts);
    let string = &hung.string;
    if wanted.switch.value == Switch::Pin {
        return vec![match active {
            Active::High => format!("leg {}-- ground", limited(hung)),
            Active::Low => format!("{rail} {}-- leg", limited(hung)),
        }];
    }
    let part = kind(wanted, "transistor");
    let control = match (&string.sink, &string.base) {
        (Some(sink), _) => return self::sink(&rail, hung, sink, &part),
        (None, Some(base)) => Control {
            resistor: (!base.built_in).then_some(base.resistor),
            capacitor: base.speed_up,
            clamped: wanted.drive.value == SwitchDrive::Clamp,
            legs: ["collector", "base", "emitter"],
        },
        (None, None) => Control {
            resistor: Some(GATE),
            capacitor: None,
            clamped: false,
            legs: ["drain", "gate", "source"],
        },
    };
    switched(&rail, hung, &control, &part)
}

/// A switch by its name, or by its kind.
pub(super) fn kind(wanted: &LedString, kind: &str) -> String {
    match wanted.transistor.as_ref().map(|known| &known.value) {
        Some(Transistor::Named(name)) => name.to_uppercase(),
        Some(Transistor::Sheet(_)) => format!("{kind} with the figures given"),
        None => kind.to_string(),
    }
}

/// What is at a base or a gate.
struct Control {
    /// `None`: it is within the part.
    resistor: Option<Ohms>,
    /// Across it.
    capacitor: Option<Farads>,
    /// A diode from base to collector.
    clamped: bool,
    /// The transistor's, from the string to ground.
    legs: [&'static str; 3],
}

/// A transistor that connects the string to ground.
fn switched(rail: &str, hung: &Hung, control: &Control, part: &str) -> Vec<String> {
    let [upper, middle, lower] = control.legs;
    let mut sheet = Sheet::default();
    let string = sheet.wire(&format!("{rail} {}", limited(hung)), upper);
    if control.clamped {
        sheet.beside(CLAMP, "Schottky diode, its cathode at the collector", "|");
    }
    let fork = "leg --";
    let series = control
        .resistor
        .map_or_else(String::new, |resistor| format!("+--[ {resistor} ]--+"));
    let base = sheet.wire(&format!("{fork}{series}"), &format!("{middle}   {part}"));
    if control.clamped {
        sheet.put(string, CLAMP, "+");
        sheet.put(base, CLAMP, "+");
    }
    if series.is_empty() {
        sheet.wire("ground ", lower);
        return sheet.0;
    }
    let knot = fork.len() + series.len() - 1;
    match control.capacitor {
        Some(capacitor) => {
            let across = format!(" || {capacitor} || ");
            let width = series.len() - 2;
            sheet.beside(fork.len(), "", &format!("+{across:-^width$}+"));
        }
        None => sheet.put(base, fork.len(), "-"),
    }
    sheet.down(knot, PULL_DOWN);
    let ground = sheet.wire("ground ", lower);
    sheet.put(ground, knot, "+");
    sheet.0
}

/// Its base on a divider, its string without a resistor, one at its emitter.
fn sink(rail: &str, hung: &Hung, sink: &Sink, part: &str) -> Vec<String> {
    let mut sheet = Sheet::default();
    sheet.wire(&format!("{rail} --{}", leds(hung)), "collector");
    let base = format!("leg ---[ {} ]--+", sink.divider.upper);
    let knot = base.len() - 1;
    sheet.wire(&base, &format!("base   {part}"));
    sheet.down(knot, sink.divider.lower);
    let ground = sheet.wire("ground ", "emitter");
    sheet.put(ground, knot, "+");
    sheet.put(ground, knot + 3, &format!("[ {} ]", hung.string.resistor));
    sheet.0
}

/// A string's resistor and its LEDs.
fn limited(hung: &Hung) -> String {
    let string = &hung.string;
    let times = match string.parallel {
        1 => String::new(),
        count => format!("{count} x "),
    };
    format!("--{times}[ {} ]--{}", string.resistor, leds(hung))
}

fn leds(hung: &Hung) -> String {
    match hung.string.leds {
        1 => "( LED )".to_string(),
        count => format!("( {count} LEDs )"),
    }
}

/// Where wires end, in columns.
const WIDTH: usize = 52;
/// Where a diode joins base and collector.
const CLAMP: usize = 48;

/// Lines of ASCII.
#[derive(Default)]
struct Sheet(Vec<String>);

impl Sheet {
    /// A wire across the sheet, from what is written at its start to a leg. Its line.
    fn wire(&mut self, from: &str, leg: &str) -> usize {
        self.0.push(format!("{from:-<WIDTH$} {leg}"));
        self.0.len() - 1
    }

    /// A resistor down from a column of the line before.
    fn down(&mut self, column: usize, resistor: Ohms) {
        let text = format!("[ {resistor} ]");
        let before = column.saturating_sub(text.len() / 2);
        self.0.push(format!("{:before$}{text}", ""));
    }

    /// Something at a column, with words to its left.
    fn beside(&mut self, column: usize, words: &str, text: &str) {
        let width = column.saturating_sub(1);
        let words = format!("{words:>width$}");
        self.0.push(format!("{words:<column$}{text}"));
    }

    fn put(&mut self, line: usize, column: usize, text: &str) {
        self.0[line].replace_range(column..column + text.len(), text);
    }
}
