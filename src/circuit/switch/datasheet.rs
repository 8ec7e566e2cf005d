//! From a datasheet's figures to a part. Datasheets give the most; a typical part is assumed to have
//! 60 % of it (common practice, no source).

use super::{Bipolar, Mosfet};
use crate::units::{Amps, Coulombs, Farads, Ohms, Seconds, Volts};

/// What the datasheet of a small NPN gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BipolarSheet {
    /// Storage time, the most.
    pub storage: Seconds,
    /// At this collector current…
    pub collector: Amps,
    /// …with this current into the base, and then out of it.
    pub base: Amps,
    /// The least.
    pub hfe: f64,
    /// Input capacitance, emitter to base.
    pub cibo: Farads,
    /// Output capacitance, collector to base.
    pub cobo: Farads,
}

/// What the datasheet of a MOSFET gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MosfetSheet {
    /// Gate threshold, typical.
    pub threshold: Volts,
    pub ciss: Farads,
    pub coss: Farads,
}

/// Typical storage over the most that a datasheet gives (common practice, no source).
const TYPICAL: f64 = 0.6;
/// Typical gain over the least.
const TYPICAL_GAIN: f64 = 1.5;
/// Charge before the base conducts, per farad of its two junctions; fitted to the catalogue.
const DELAY: Volts = Volts(0.6);
/// The collector's capacitance as it moves, over the one at the datasheet's volts; fitted likewise.
const MILLER: f64 = 1.0;
/// Transit time of small transistors, whose transition frequency hardly differs: 150 MHz to 300 MHz.
const TRANSIT: Seconds = Seconds(1.1e-9);
/// A MOSFET's gate, below and above the threshold, over the input capacitance that is measured at high
/// drain voltage; fitted to the catalogue.
const GATE: [f64; 2] = [2.4, 1.8];
/// And its drain, over the output capacitance.
const DRAIN: f64 = 4.0;

impl BipolarSheet {
    /// Storage by the usual formula: t = τ · ln(2 · IB / (IC / hFE + IB)) with equal currents into and
    /// out of the base. `None`: with this base current it does not saturate.
    pub fn part(&self) -> Option<Bipolar> {
        let edge = self.collector.0 / self.hfe;
        let log = (2.0 * self.base.0 / (edge + self.base.0)).ln();
        (log > 0.0).then(|| Bipolar {
            base_emitter: Volts(0.7),
            delay: Coulombs(DELAY.0 * (self.cibo.0 + self.cobo.0)),
            miller: Farads(MILLER * self.cobo.0),
            transit: TRANSIT,
            storage: Seconds(TYPICAL * self.storage.0 / log),
            gain: TYPICAL_GAIN * self.hfe,
            built_in: Ohms(0.0),
            shunt: Ohms(f64::INFINITY),
            junctions: 1.0,
        })
    }
}

impl MosfetSheet {
    pub fn part(&self) -> Mosfet {
        let [below, above] = GATE.map(|factor| Farads(factor * self.ciss.0));
        Mosfet {
            threshold: self.threshold,
            below,
            above,
            output: Farads(DRAIN * self.coss.0),
        }
    }
}
