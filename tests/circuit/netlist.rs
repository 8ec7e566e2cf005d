//! A switch and its LEDs as a circuit for ngspice.

use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

/// What switches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Kind {
    Npn,
    Clamped,
    Sink,
    Darlington,
    Mosfet,
    Pin,
}

/// A circuit, and pulses at its pin.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Circuit {
    pub kind: Kind,
    /// Of the catalogue; empty: none.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub part: String,
    /// The current asked for, in milliamperes.
    pub current: f64,
    /// From pin to base or gate, in ohms.
    #[serde(default)]
    pub series: f64,
    /// From base or gate to ground, in ohms; 0: none.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub pull_down: f64,
    /// In the emitter of a sink, in ohms.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub emitter: f64,
    /// Across `series`, in picofarads.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub speed_up: f64,
    /// Of the pin, in volts.
    #[serde(default = "five")]
    pub logic: f64,
    /// Of the strings, in volts.
    #[serde(default = "five")]
    pub rail: f64,
    #[serde(default = "one")]
    pub leds: u32,
    /// Of one LED, in volts.
    #[serde(default = "three")]
    pub forward: f64,
    /// Of one LED, in picofarads.
    #[serde(default = "thirty")]
    pub capacitance: f64,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde wants it so")]
fn is_zero(value: &f64) -> bool {
    *value == 0.0
}

fn one() -> u32 {
    1
}

fn three() -> f64 {
    3.0
}

fn five() -> f64 {
    5.0
}

fn thirty() -> f64 {
    30.0
}

/// Of a pin, in ohms.
pub(super) const PIN: f64 = 25.0;
/// kT/q at SPICE's 27 °C.
const THERMAL: f64 = 0.025_864;
/// An LED's ideality, and what its resistance drops at its current: a usual white one (from memory).
const IDEALITY: f64 = 2.9;
const RESISTIVE: f64 = 0.1;
/// Of a pulse's flanks, in seconds.
const FLANK: f64 = 5e-9;

impl Circuit {
    /// What the switch drops when on, roughly: for the string's resistor.
    fn saturation(&self) -> f64 {
        match self.kind {
            Kind::Npn => 0.05,
            Kind::Clamped => 0.35,
            Kind::Darlington => 0.8,
            Kind::Mosfet | Kind::Pin | Kind::Sink => 0.0,
        }
    }

    /// What is left for the string's resistor, in volts.
    pub(super) fn swing(&self) -> f64 {
        self.rail - f64::from(self.leds) * self.forward
    }

    /// The circuit with these pulses (start and width, in seconds), and what to do with it.
    pub(super) fn netlist(&self, pulses: &[(f64, f64)], commands: &str) -> String {
        let mut text = String::from("* switch\n");
        let mut line = |line: String| writeln!(text, "{line}").expect("a String");
        line(".options reltol=1e-4 abstol=1e-11 chgtol=1e-16 method=gear".into());
        line(self.led());
        let points: String = pulses
            .iter()
            .map(|(start, width)| {
                let end = start + width;
                let logic = self.logic;
                format!(
                    " {start:.10e} 0 {:.10e} {logic} {end:.10e} {logic} {:.10e} 0",
                    start + FLANK,
                    end + FLANK
                )
            })
            .collect();
        line(format!("vp pp 0 pwl(0 0{points})"));
        line(format!("rpin pp p {PIN}"));
        let (from, to) = if self.kind == Kind::Pin {
            ("p", "0")
        } else {
            line(format!("vl rail 0 {}", self.rail));
            ("rail", "c")
        };
        line(format!("rl {from} a0 {}", self.resistor()));
        for led in 0..self.leds {
            line(format!("d{led} a{led} a{} led", led + 1));
        }
        line(format!("vm a{} {to} 0", self.leds));
        for switch in self.switch() {
            line(switch);
        }
        text + commands + ".end\n"
    }

    fn led(&self) -> String {
        let current = self.current * 1e-3;
        let saturation = current / ((self.forward - RESISTIVE) / (IDEALITY * THERMAL)).exp();
        format!(
            ".model led d(is={saturation:e} n={IDEALITY} rs={} cjo={}p)",
            RESISTIVE / current,
            self.capacitance
        )
    }

    fn resistor(&self) -> f64 {
        let current = self.current * 1e-3;
        match self.kind {
            Kind::Sink => 1.0,
            Kind::Pin => (self.logic - f64::from(self.leds) * self.forward) / current - PIN,
            _ => (self.swing() - self.saturation()) / current,
        }
    }

    fn switch(&self) -> Vec<String> {
        let mut lines = Vec::new();
        if self.kind == Kind::Pin {
            return lines;
        }
        lines.push(models(&self.part));
        let emitter = if self.kind == Kind::Sink { "e" } else { "0" };
        lines.push(format!("rb p b {}", self.series.max(0.01)));
        lines.push(match self.kind {
            Kind::Mosfet => "m1 c b 0 part".into(),
            Kind::Darlington => "x1 c b 0 part".into(),
            _ => format!("q1 c b {emitter} part"),
        });
        if self.pull_down > 0.0 {
            lines.push(format!("rpd b 0 {}", self.pull_down));
        }
        if self.kind == Kind::Sink {
            lines.push(format!("re e 0 {}", self.emitter));
        }
        if self.speed_up > 0.0 {
            lines.push(format!("cs p b {}p", self.speed_up));
        }
        if self.kind == Kind::Clamped {
            // A small Schottky diode, BAT85's parameters (from memory).
            lines.push(".model clamp d(is=2.1e-7 n=1.02 rs=1.5 cjo=10p)".into());
            lines.push("dc b c clamp".into());
        }
        lines
    }
}

/// The model of a part, from `models.cir`.
fn models(part: &str) -> String {
    let all = include_str!("models.cir");
    let begins = format!("* {part}\n");
    let found = all.split("\n\n").find_map(|block| {
        let start = block.find(&begins)?;
        Some(&block[start + begins.len()..])
    });
    found
        .unwrap_or_else(|| panic!("no model of {part}"))
        .to_string()
}
