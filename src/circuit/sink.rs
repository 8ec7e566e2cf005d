//! A current sink: an NPN with its base on a divider at the pin, and a resistor at its emitter that sets
//! the current, whatever the rail. It does not saturate, so that it stores nothing.

use serde::Serialize;

use super::switch::{Bipolar, Divider, divider, emitter_current, emitter_resistor};
use crate::spec::Series;
use crate::units::{Amps, Ohms, Volts};

/// Values for one, of a series.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sink {
    pub divider: Divider,
    /// From emitter to ground.
    pub emitter: Ohms,
    /// Collector current over base current, typically.
    #[serde(skip)]
    gain: f64,
}

/// How far base-emitter volts spread, either way (common practice, no source).
const SPREAD: Volts = Volts(0.05);

impl Sink {
    /// For a current that is not exceeded, at a pin that swings up to these volts.
    pub fn new(wanted: Amps, part: &Bipolar, logic: Volts, pin: Ohms, series: Series) -> Self {
        let ideal = divider(wanted, part.gain, logic);
        let mut sink = Self {
            divider: Divider {
                upper: series.at_least(ideal.upper),
                lower: series.at_least(ideal.lower),
            },
            emitter: Ohms(0.0),
            gain: part.gain,
        };
        let in_all = emitter_resistor(wanted, sink.open(logic, pin));
        sink.emitter = series.at_least(Ohms(in_all.0 - sink.source(pin).0 / sink.gain));
        sink
    }

    /// The base's volts without its current, while the pin is on.
    pub fn open(&self, logic: Volts, pin: Ohms) -> Volts {
        let Divider { upper, lower } = self.divider;
        Volts(logic.0 * lower.0 / (upper.0 + pin.0 + lower.0))
    }

    /// What the base sees: both resistors side by side, the pin's own with the upper one.
    pub fn source(&self, pin: Ohms) -> Ohms {
        let Divider { upper, lower } = self.divider;
        Ohms(1.0 / (1.0 / (upper.0 + pin.0) + 1.0 / lower.0))
    }

    /// Out of the pin, while it is on.
    pub fn pin(&self, logic: Volts, pin: Ohms) -> Amps {
        Amps((logic.0 - self.open(logic, pin).0) / (self.divider.upper.0 + pin.0))
    }

    /// Through the string, with its resistor larger by this share, and the transistor's base-emitter volts
    /// by the same sign of their spread.
    pub fn current(&self, logic: Volts, pin: Ohms, larger: f64) -> Amps {
        let off = if larger == 0.0 {
            0.0
        } else {
            SPREAD.0 * larger.signum()
        };
        let base = Volts(self.open(logic, pin).0 - off);
        let in_all = self.emitter.0 * (1.0 + larger) + self.source(pin).0 / self.gain;
        emitter_current(Ohms(in_all), base)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::switch::{Device, find};

    /// Worked by hand: 2 V at the base, 1.35 V at the emitter.
    #[test]
    fn values_by_hand() {
        let Some(Device::Bipolar(part)) = find("2n3904").map(|entry| entry.part) else {
            panic!("a known NPN")
        };
        let (logic, pin) = (Volts(5.0), Ohms(25.0));
        let sink = Sink::new(Amps(10e-3), &part, logic, pin, Series::E12);
        // 2 mA through the divider: (5 - 2) / 2 mA = 1.5 kohm above, 2 / 2 mA = 1 kohm below.
        assert_eq!(
            (sink.divider.upper, sink.divider.lower),
            (Ohms(1500.0), Ohms(1000.0))
        );
        // 5 * 1000 / 2525 = 1.980 V open; (1.98 - 0.65) / 10 mA = 133, less 604 / 128: 128.3 → 150 ohm.
        assert_eq!(sink.emitter, Ohms(150.0));
        let current = sink.current(logic, pin, 0.0);
        assert!((current.0 - 1.3302 / 154.72).abs() < 1e-5, "{current}");
        let [least, most] = [0.05, -0.05].map(|larger| sink.current(logic, pin, larger));
        assert!(
            least.0 > 0.9 * current.0 && most.0 < 1.1 * current.0,
            "{least} {most}"
        );
    }
}
