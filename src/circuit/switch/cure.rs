//! Parts that make a switch quick, from the part that is slow.

use super::Bipolar;
use crate::units::{Amps, Farads, Ohms, Volts};

/// The capacitor across a base resistor that takes out what the base stores: it carries as much charge
/// as storage time and base current, so C = storage / resistor.
pub fn speed_up(part: &Bipolar, base: Ohms) -> Farads {
    Farads(part.storage.0 / base.0)
}

/// Two resistors that set a base to a share of the pin's volts.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Divider {
    /// From pin to base.
    pub upper: Ohms,
    /// From base to ground.
    pub lower: Ohms,
}

/// A current sink's base sits at about this (common practice, no source): enough that the spread of
/// base-emitter volts, some 50 mV, moves the current by a few per cent.
const SINK_BASE: Volts = Volts(2.0);
/// The divider carries this many times the base's current, so that a transistor's gain hardly moves
/// it (common practice, no source).
const STIFF: f64 = 15.0;
/// But not less than this many milliamperes, or it is slow.
const QUICK: Amps = Amps(2e-3);

/// For a sink of this current at a pin of these volts. Resistors are exact; round them to a series.
pub fn divider(current: Amps, gain: f64, logic: Volts) -> Divider {
    let base = Volts(SINK_BASE.0.min(logic.0 * 0.4));
    let through = (STIFF * current.0 / gain).max(QUICK.0);
    Divider {
        upper: Ohms((logic.0 - base.0) / through),
        lower: Ohms(base.0 / through),
    }
}

/// Through a sink's emitter resistor.
pub fn emitter_current(resistor: Ohms, base: Volts) -> Amps {
    Amps((base.0 - super::follower::BASE_EMITTER).max(0.0) / resistor.0)
}

/// In the emitter of a sink, for a current.
pub fn emitter_resistor(current: Amps, base: Volts) -> Ohms {
    Ohms((base.0 - super::follower::BASE_EMITTER).max(0.0) / current.0)
}
