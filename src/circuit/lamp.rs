//! A string's switch, from the project's words to the model of its speed.

use super::flow::{Circuit, Hung, pin_resistance};
use super::switch::{Base, Bipolar, Gate, LedOnPin, Load, Mosfet, Part, Switching, find};
use crate::plan::Plan;
use crate::spec::{LedString, Switch};
use crate::units::{Amps, Farads, Ohms, Volts};

/// From pin to gate.
pub const GATE: Ohms = Ohms(100.0);
/// From base to emitter, and from gate to ground: what keeps a switch off while pins float.
pub const PULL_DOWN: Ohms = Ohms(100e3);

/// What decides a switch's speed besides its part.
#[derive(Debug, Clone, Copy)]
pub struct Seat {
    load: Load,
    logic: Volts,
    pin: Ohms,
}

impl Seat {
    pub fn new(hung: &Hung, circuit: &Circuit, plan: &Plan) -> Self {
        let string = &hung.string;
        let load = Load {
            current: Amps(string.current.0 * f64::from(string.parallel)),
            swing: Volts((hung.volts.0 - string.forward.0).max(0.0)),
        };
        Self {
            load,
            logic: circuit.volts,
            pin: pin_resistance(plan, circuit.volts),
        }
    }

    /// A transistor at its base resistor, with a capacitor across that; zero: none.
    pub fn base(&self, part: Bipolar, resistor: Ohms, speed_up: Farads) -> Switching {
        let outside = if part.built_in.0 > 0.0 {
            Ohms(0.0)
        } else {
            resistor
        };
        Switching::Base(Base {
            part,
            load: self.load,
            logic: self.logic,
            series: Ohms(outside.0 + self.pin.0),
            pull_down: PULL_DOWN,
            speed_up,
            clamped: false,
        })
    }

    pub fn gate(&self, part: Mosfet) -> Switching {
        Switching::Gate(Gate {
            part,
            load: self.load,
            logic: self.logic,
            series: Ohms(GATE.0 + self.pin.0),
        })
    }

    fn pin(&self, wanted: &LedString, capacitance: Farads) -> Switching {
        Switching::Pin(LedOnPin {
            load: self.load,
            capacitance,
            forward: wanted.forward.value,
            parallel: f64::from(wanted.parallel.value),
        })
    }
}

/// How a string is switched. `None`: nothing is said of its part, and it is taken as ideal.
pub fn switching(wanted: &LedString, hung: &Hung, seat: &Seat) -> Option<Switching> {
    if wanted.switch.value == Switch::Pin {
        return Some(seat.pin(wanted, wanted.capacitance?));
    }
    let entry = find(&wanted.transistor.as_ref()?.value)?;
    match entry.part {
        Part::Bipolar(part) => {
            let base = hung.string.base?;
            let speed_up = base.speed_up.unwrap_or(Farads(0.0));
            Some(seat.base(part, base.resistor, speed_up))
        }
        Part::Mosfet(part) => Some(seat.gate(part)),
    }
}
