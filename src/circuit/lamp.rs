//! A string's switch, from the project's words to the model of its speed.

use super::flow::Hung;
use super::switch::{Base, Bipolar, Device, Follower, Gate, LedOnPin, Load, Mosfet, Switching};
use super::transistor::part;
use crate::spec::{LedString, Switch, SwitchDrive};
use crate::units::{Amps, Farads, Ohms, Volts};

/// From pin to gate.
pub const GATE: Ohms = Ohms(100.0);
/// From base to emitter, and from gate to ground: what keeps a switch off while pins float.
pub const PULL_DOWN: Ohms = Ohms(100e3);

/// How a string is switched at a chip of these volts. `None`: nothing is said of its part, and it is
/// taken as ideal.
pub fn switching(wanted: &LedString, hung: &Hung, logic: Volts) -> Option<Switching> {
    let seat = Seat::new(hung, logic);
    if wanted.switch.value == Switch::Pin {
        return Some(Switching::Pin(LedOnPin {
            load: seat.load,
            capacitance: wanted.capacitance?,
            forward: wanted.forward.value,
            parallel: f64::from(wanted.parallel.value),
        }));
    }
    match part(wanted)? {
        Device::Bipolar(part) => seat.bipolar(part, wanted, hung),
        Device::Mosfet(part) => Some(seat.gate(part)),
    }
}

/// What decides a switch's speed besides its part.
struct Seat {
    load: Load,
    logic: Volts,
    pin: Ohms,
}

impl Seat {
    fn new(hung: &Hung, logic: Volts) -> Self {
        let string = &hung.string;
        let load = Load {
            current: Amps(string.current.0 * f64::from(string.parallel)),
            swing: Volts((hung.volts.0 - string.forward.0).max(0.0)),
        };
        Self {
            load,
            logic,
            pin: string.pin_resistance(),
        }
    }

    fn bipolar(&self, part: Bipolar, wanted: &LedString, hung: &Hung) -> Option<Switching> {
        if let Some(sink) = &hung.string.sink {
            return Some(Switching::Follower(Follower {
                part,
                load: self.load,
                open: sink.open(self.logic, self.pin),
                source: sink.source(self.pin),
            }));
        }
        let base = hung.string.base?;
        let outside = if base.built_in { 0.0 } else { base.resistor.0 };
        Some(Switching::Base(Base {
            part,
            load: self.load,
            logic: self.logic,
            series: Ohms(outside + self.pin.0),
            pull_down: PULL_DOWN,
            speed_up: base.speed_up.unwrap_or(Farads(0.0)),
            clamped: wanted.drive.value == SwitchDrive::Clamp,
        }))
    }

    fn gate(&self, part: Mosfet) -> Switching {
        Switching::Gate(Gate {
            part,
            load: self.load,
            logic: self.logic,
            series: Ohms(GATE.0 + self.pin.0),
        })
    }
}
