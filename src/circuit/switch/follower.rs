//! A current sink: the base on a divider, a resistor in the emitter.
//!
//! The transistor never saturates, so it stores nothing. Its base is a resistance and a capacitance, and
//! the LED's current follows the base.

use super::{Bipolar, Charges, Level, Load};
use crate::units::{Ohms, Volts};

/// A transistor with its divider.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Follower {
    pub part: Bipolar,
    pub load: Load,
    /// Of the divider without load, while the pin is on.
    pub open: Volts,
    /// The divider's two resistors side by side, the pin's own with the upper one.
    pub source: Ohms,
}

/// Of `miller` and of the junctions' capacitance, what a base sees whose collector hardly moves.
/// Fitted to ngspice.
const MILLER_SHARE: f64 = 0.45;
const JUNCTION_SHARE: f64 = 0.7;
/// Base to emitter at the current below (common practice, no source).
pub(super) const BASE_EMITTER: f64 = 0.65;
const GIVEN_AT: f64 = 2e-3;
const THERMAL: f64 = 0.0259;

impl Follower {
    fn base_emitter(&self) -> f64 {
        BASE_EMITTER + THERMAL * (self.load.current.0 / GIVEN_AT).ln()
    }

    fn constant(&self) -> f64 {
        let part = &self.part;
        let junction = part.delay.0 / part.base_emitter.0;
        self.source.0 * (MILLER_SHARE * part.miller.0 + JUNCTION_SHARE * junction)
    }
}

impl Charges for Follower {
    /// The base's voltage.
    type State = f64;

    fn advance(&self, volts: f64, pin: Level, time: f64) -> (f64, f64) {
        let (begin, constant) = (self.base_emitter(), self.constant());
        let end = match pin {
            Level::On => self.open.0,
            Level::Off => 0.0,
        };
        // Of the exponential from `volts` to `end`, what is above `begin`, over the time.
        let at = |time: f64| end + (volts - end) * (-time / constant).exp();
        let last = at(time);
        let crosses = constant * ((volts - end) / (begin - end)).ln();
        let (from, to) = match (volts > begin, last > begin) {
            (false, false) => return (last, 0.0),
            (true, true) => (0.0, time),
            (false, true) => (crosses, time),
            (true, false) => (0.0, crosses),
        };
        let moved = at(from) - at(to);
        let above = (end - begin) * (to - from) + constant * moved;
        (last, above / (self.open.0 - begin))
    }
}
