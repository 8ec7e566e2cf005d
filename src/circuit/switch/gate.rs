//! A MOSFET behind a gate resistor.
//!
//! The gate charges like a capacitor; the LED is lit while it is above the threshold. After that the
//! drain's capacitance goes on charging through the LED, which lights it some more.

use super::{Charges, Level, Load, Mosfet};
use crate::units::{Ohms, Volts};

/// A MOSFET with what drives its gate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gate {
    pub part: Mosfet,
    pub load: Load,
    /// Of the pin while on.
    pub logic: Volts,
    /// From pin to gate, with the pin's own.
    pub series: Ohms,
}

impl Charges for Gate {
    /// The gate's voltage.
    type State = f64;

    fn advance(&self, volts: f64, pin: Level, time: f64) -> (f64, f64) {
        let (part, threshold) = (&self.part, self.part.threshold.0);
        let [below, above] = [part.below, part.above].map(|farads| farads.0 * self.series.0);
        let towards = |from: f64, to: f64, constant: f64, time: f64| {
            to + (from - to) * (-time / constant).exp()
        };
        match pin {
            Level::On => {
                let logic = self.logic.0;
                if logic <= threshold {
                    return (towards(volts, logic, below, time), 0.0);
                }
                let needs = below * ((logic - volts) / (logic - threshold)).max(1.0).ln();
                if needs >= time {
                    return (towards(volts, logic, below, time), 0.0);
                }
                let lit = time - needs;
                (towards(volts.max(threshold), logic, above, lit), lit)
            }
            Level::Off => {
                if volts <= threshold {
                    return (towards(volts, 0.0, below, time), 0.0);
                }
                let needs = above * (volts / threshold).ln();
                if needs >= time {
                    return (towards(volts, 0.0, above, time), time);
                }
                let left = time - needs;
                let drain = part.output.0 * self.load.swing.0.max(0.0) / self.load.current.0;
                (
                    towards(threshold, 0.0, below, left),
                    needs + drain.min(left),
                )
            }
        }
    }
}
