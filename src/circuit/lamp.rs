//! A string's switch, from the project's words to the model of its speed.

use super::flow::{Circuit, Hung, pin_resistance};
use super::sink::Sink;
use super::switch::{Base, Bipolar, Follower, Gate, LedOnPin, Load, Mosfet, Part, Switching, find};
use crate::plan::Plan;
use crate::spec::{Drive, LedString, Series, Switch};
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
    pub fn base(&self, part: Bipolar, resistor: Ohms, speed_up: Farads) -> Base {
        let outside = if part.built_in.0 > 0.0 {
            Ohms(0.0)
        } else {
            resistor
        };
        Base {
            part,
            load: self.load,
            logic: self.logic,
            series: Ohms(outside.0 + self.pin.0),
            pull_down: PULL_DOWN,
            speed_up,
            clamped: false,
        }
    }

    /// The same base with a diode that keeps the transistor from saturating.
    pub fn clamped(&self, part: Bipolar, resistor: Ohms) -> Switching {
        Switching::Base(Base {
            clamped: true,
            ..self.base(part, resistor, Farads(0.0))
        })
    }

    /// A transistor in a sink.
    pub fn sink(&self, part: Bipolar, sink: &Sink) -> Switching {
        Switching::Follower(Follower {
            part,
            load: self.load,
            open: sink.open(self.logic, self.pin),
            source: sink.source(self.pin),
        })
    }

    /// A sink for this string's current.
    pub fn sink_for(&self, current: Amps, part: Bipolar, series: Series) -> Switching {
        let sink = Sink::new(current, &part, self.logic, self.pin, series);
        self.sink(part, &sink)
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

/// The transistor that a string names, if it is known.
pub fn part(wanted: &LedString) -> Option<Part> {
    find(&wanted.transistor.as_ref()?.value).map(|entry| entry.part)
}

/// How a string is switched. `None`: nothing is said of its part, and it is taken as ideal.
pub fn switching(wanted: &LedString, hung: &Hung, seat: &Seat) -> Option<Switching> {
    if wanted.switch.value == Switch::Pin {
        return Some(seat.pin(wanted, wanted.capacitance?));
    }
    match part(wanted)? {
        Part::Bipolar(part) => {
            let base = hung.string.base?;
            if let Some(sink) = &hung.string.sink {
                return Some(seat.sink(part, sink));
            }
            if wanted.drive.value == Drive::Clamp {
                return Some(seat.clamped(part, base.resistor));
            }
            let speed_up = base.speed_up.unwrap_or(Farads(0.0));
            Some(Switching::Base(seat.base(part, base.resistor, speed_up)))
        }
        Part::Mosfet(part) => Some(seat.gate(part)),
    }
}
