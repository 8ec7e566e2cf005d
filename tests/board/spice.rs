//! Charge pumps in ngspice (Debian package `ngspice`): netlists, runs, measurements.

use std::fmt::Write as _;

use duskloom::circuit::diode::Diode;
use duskloom::circuit::pump::Pump;
use duskloom::units::{Amps, Farads, Hertz, Ohms, Volts};
use serde::{Deserialize, Serialize};

use crate::common::spice::{run, value};

/// A circuit, and what ngspice measured in it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub(super) struct Case {
    pub stages: u32,
    /// In microfarads.
    pub capacitor: f64,
    /// In microfarads.
    pub reservoir: f64,
    /// In hertz.
    pub clock: f64,
    /// In ohms.
    pub driver: f64,
    pub diode: Part,
    /// In milliamperes.
    pub load: f64,
    pub measured: Option<Measured>,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Measured {
    /// Mean output voltage.
    pub volts: f64,
    /// From crest to trough.
    pub ripple: f64,
    /// From empty capacitors to 95 % of `volts`, in milliseconds.
    pub start_up: f64,
}

/// Diodes by their usual SPICE parameters (from memory of the makers' published models).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Part {
    /// Silicon signal diode.
    #[serde(rename = "1N4148")]
    Signal,
    /// Small Schottky diode.
    #[serde(rename = "BAT85")]
    Schottky,
    /// Power Schottky diode: leaks much.
    #[serde(rename = "1N5819")]
    Leaky,
}

struct Parameters {
    saturation: f64,
    ideality: f64,
    resistance: f64,
    capacitance: f64,
}

/// kT/q at SPICE's 27 °C.
const THERMAL: f64 = 0.025_864;

impl Part {
    fn parameters(self) -> Parameters {
        let (saturation, ideality, resistance, capacitance) = match self {
            Self::Signal => (2.52e-9, 1.752, 0.568, 4e-12),
            Self::Schottky => (2.1e-7, 1.02, 1.5, 10e-12),
            Self::Leaky => (3.17e-5, 1.373, 0.051, 110e-12),
        };
        Parameters {
            saturation,
            ideality,
            resistance,
            capacitance,
        }
    }

    /// Two points of its curve, as one would read them off a datasheet: 1 mA and 10 mA.
    fn points(self) -> [(Amps, Volts); 2] {
        let p = self.parameters();
        [1e-3, 1e-2].map(|i| {
            let drop = p.ideality * THERMAL * (i / p.saturation).ln_1p() + i * p.resistance;
            (Amps(i), Volts(drop))
        })
    }
}

pub(super) const SUPPLY: f64 = 5.0;

impl Case {
    pub(super) fn pump(&self) -> Pump {
        Pump {
            stages: self.stages,
            supply: Volts(SUPPLY),
            capacitor: Farads(self.capacitor * 1e-6),
            reservoir: Farads(self.reservoir * 1e-6),
            clock: Hertz(self.clock),
            driver: Ohms(self.driver),
            diode: Diode::through(self.diode.points()),
        }
    }

    pub(super) fn load(&self) -> Amps {
        Amps(self.load * 1e-3)
    }

    /// The circuit; `full`: with capacitors charged as if unloaded, else empty.
    fn netlist(&self, full: bool, length: f64, measure: &str) -> String {
        let period = 1.0 / self.clock;
        let (edge, half) = (period / 2000.0, period / 2.0);
        let p = self.diode.parameters();
        let mut text = String::from("* charge pump\n");
        let mut line = |line: String| writeln!(text, "{line}").expect("a String");
        line(format!("vdd in 0 {SUPPLY}"));
        let pulse = |from: f64, to: f64| {
            let width = half - edge;
            format!("pulse({from} {to} 0 {edge} {edge} {width} {period})")
        };
        line(format!("va pa 0 {}", pulse(0.0, SUPPLY)));
        line(format!("vb pb 0 {}", pulse(SUPPLY, 0.0)));
        line(format!("ra pa a {}", self.driver));
        line(format!("rb pb b {}", self.driver));
        let mut before = "in".to_string();
        let raised = |stages: u32| f64::from(stages) * (SUPPLY - 0.4) + 4.6;
        for stage in 1..=self.stages {
            let pin = if stage % 2 == 1 { "a" } else { "b" };
            let charge = if full { raised(stage - 1) } else { 0.0 };
            line(format!("d{stage} {before} n{stage} part"));
            line(format!(
                "c{stage} n{stage} {pin} {}u ic={charge}",
                self.capacitor
            ));
            before = format!("n{stage}");
        }
        let charge = if full { raised(self.stages) } else { 0.0 };
        line(format!("dout {before} out part"));
        line(format!("co out 0 {}u ic={charge}", self.reservoir));
        // The load stops at nothing: it never pulls the output below ground.
        line(format!(
            "bload out 0 i={}m*(v(out)>0.5 ? 1 : v(out)>0 ? 2*v(out) : 0)",
            self.load
        ));
        line(format!(
            ".model part d(is={} n={} rs={} cjo={} bv=100)",
            p.saturation, p.ideality, p.resistance, p.capacitance
        ));
        line(".options method=gear".into());
        line(format!(".tran {0} {length} 0 {0} uic", period / 60.0));
        line(measure.into());
        line(".end".into());
        text
    }

    /// Runs it. `None`: ngspice is not there.
    ///
    /// # Panics
    /// If ngspice measures nothing, or the output has not settled.
    pub(super) fn measure(&self) -> Option<Measured> {
        let pump = self.pump();
        let period = 1.0 / self.clock;
        let constant = pump.output_resistance().0 * (pump.reservoir.0 + pump.capacitor.0);
        let length = (8.0 * constant).max(120.0 * period);
        let window = |from: f64, to: f64| {
            format!(
                "from={} to={}",
                length - from * period,
                length - to * period
            )
        };
        let measure = format!(
            ".meas tran volts avg v(out) {last}\n.meas tran earlier avg v(out) {earlier}\n\
             .meas tran ripple pp v(out) {last}",
            last = window(20.0, 0.0),
            earlier = window(40.0, 20.0),
        );
        let settled = run(&self.netlist(true, length, &measure))?;
        let [volts, earlier, ripple] =
            ["volts", "earlier", "ripple"].map(|name| value(&settled, name));
        assert!(
            (volts / earlier - 1.0).abs() < 2e-3,
            "not settled: {self:?}"
        );
        let measure = format!(".meas tran starts when v(out)={} rise=1", 0.95 * volts);
        let started = run(&self.netlist(false, 2.0 * length, &measure))?;
        let round = |value: f64| (value * 1e4).round() / 1e4;
        Some(Measured {
            volts: round(volts),
            ripple: round(ripple),
            start_up: round(value(&started, "starts") * 1e3),
        })
    }
}
