//! LEDs straight on a pin: their own capacitance takes the first of every pulse.

use super::{Charges, Level, Load};
use crate::units::{Farads, Volts};

/// A string on a pin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LedOnPin {
    pub load: Load,
    /// Of one LED, without voltage.
    pub capacitance: Farads,
    /// What one LED drops.
    pub forward: Volts,
    /// Strings side by side, each with its own capacitance.
    pub parallel: f64,
}

/// An LED's charge over its capacitance: a·V + b·V². LEDs in series share capacitance as they share
/// volts, so a string has the charge of one. Fitted to ngspice.
const CHARGE: [f64; 2] = [0.17, 0.53];

impl LedOnPin {
    fn charge(&self) -> f64 {
        let volts = self.forward.0;
        let [straight, square] = CHARGE;
        let one = self.capacitance.0 * (straight * volts + square * volts * volts);
        one * self.parallel
    }
}

impl Charges for LedOnPin {
    /// How much of its charge the LED has.
    type State = f64;

    fn advance(&self, charged: f64, pin: Level, time: f64) -> (f64, f64) {
        let charge = self.charge();
        match pin {
            Level::On => {
                let needs = (1.0 - charged) * charge / self.load.current.0;
                let share = if needs > time {
                    charged + (1.0 - charged) * time / needs
                } else {
                    1.0
                };
                (share, (time - needs).max(0.0))
            }
            // It goes back through the string's resistor.
            Level::Off => {
                let resistance = self.load.swing.0.max(0.0) / self.load.current.0;
                let constant = resistance * charge / self.forward.0;
                (charged * (-time / constant.max(1e-12)).exp(), 0.0)
            }
        }
    }
}
