//! From a datasheet's figures to a part. Datasheets give the most; a typical part is assumed to have
//! 60 % of it (common practice, no source).

use super::{Bipolar, Mosfet};
use crate::spec::{BipolarFigures, MosfetFigures};
use crate::units::{Coulombs, Farads, Ohms, Seconds, Volts};

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

impl Bipolar {
    /// Storage by the usual formula: t = τ · ln(2 · IB / (IC / hFE + IB)) with equal currents into and
    /// out of the base. `None`: with this base current it does not saturate.
    pub fn of_sheet(sheet: &BipolarFigures) -> Option<Self> {
        let edge = sheet.collector.0 / sheet.hfe;
        let log = (2.0 * sheet.base.0 / (edge + sheet.base.0)).ln();
        (log > 0.0).then(|| Self {
            base_emitter: Volts(0.7),
            delay: Coulombs(DELAY.0 * (sheet.input.0 + sheet.output.0)),
            miller: Farads(MILLER * sheet.output.0),
            transit: TRANSIT,
            storage: Seconds(TYPICAL * sheet.storage.0 / log),
            gain: TYPICAL_GAIN * sheet.hfe,
            built_in: Ohms(0.0),
            shunt: Ohms(f64::INFINITY),
            junctions: 1.0,
        })
    }
}

impl Mosfet {
    pub fn of_sheet(sheet: &MosfetFigures) -> Self {
        let [below, above] = GATE.map(|factor| Farads(factor * sheet.input.0));
        Self {
            threshold: sheet.threshold,
            below,
            above,
            output: Farads(DRAIN * sheet.output.0),
        }
    }
}
