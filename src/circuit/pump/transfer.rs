//! One diode of the pump moving one charge within half a cycle.

use crate::circuit::diode::Diode;
use crate::circuit::root;
use crate::units::{Amps, Farads, Ohms, Seconds, Volts};

/// A loop that conducts for half a cycle: a source of charge, a diode, resistance, capacitance.
#[derive(Debug, Clone, Copy)]
pub(super) struct Loop {
    /// Of its capacitors in series.
    pub capacitance: Farads,
    /// Of the drivers, as this loop feels them while its like conduct too.
    pub resistance: Ohms,
    pub diode: Diode,
}

/// How a loop's current starts and ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Transfer {
    pub first: Amps,
    pub last: Amps,
    /// What resistance and diode still hold when the half cycle ends: it is not pumped.
    pub left: Volts,
}

/// Where the exponential function ends.
const MOST: f64 = 700.0;

impl Loop {
    /// Moving `charge` (in coulombs) within `time`.
    pub(super) fn transfer(&self, charge: f64, time: Seconds) -> Transfer {
        match self.diode {
            Diode::Constant(drop) => self.linear(charge, time, drop),
            Diode::Exponential { slope, .. } => self.exponential(charge, time, slope),
        }
    }

    /// i(t) = first · exp(−t / RC).
    fn linear(&self, charge: f64, time: Seconds, drop: Volts) -> Transfer {
        let constant = self.resistance.0 * self.capacitance.0;
        let first = charge / constant / -(-time.0 / constant).exp_m1();
        let last = first * (-time.0 / constant).exp();
        Transfer {
            first: Amps(first),
            last: Amps(last),
            left: Volts(self.resistance.0 * last + drop.0),
        }
    }

    /// With a diode that drops s · ln(i / i_s), the loop obeys (R + s / i) · di = −i / C · dt.
    /// Over the half cycle, with r = first / last:
    ///
    ///   charge = C · (R · (first − last) + s · ln r)
    ///   time   = C · (R · ln r + s · (1 / last − 1 / first))
    ///
    /// The first gives `last` for an r; the second grows with r, which gives r.
    fn exponential(&self, charge: f64, time: Seconds, slope: Volts) -> Transfer {
        let (c, r, s) = (self.capacitance.0, self.resistance.0, slope.0);
        let end = |log: f64| (charge / c - s * log).max(0.0) / (r * log.exp_m1());
        let takes = |log: f64| c * (r * log + s / end(log) * -(-log).exp_m1());
        let most = (charge / c / s).min(MOST);
        let log = root::between(0.0, most, |log| takes(log) - time.0);
        let last = end(log);
        Transfer {
            first: Amps(last * log.exp()),
            last: Amps(last),
            left: Volts(r * last + self.diode.drop(Amps(last)).0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(diode: Diode) -> Loop {
        Loop {
            capacitance: Farads(0.5e-6),
            resistance: Ohms(75.0),
            diode,
        }
    }

    const SOFT: Diode = Diode::Exponential {
        slope: Volts(0.026),
        saturation: Amps(2e-7),
        known_to: Amps(1.0),
    };

    /// The same loop stepped through time.
    fn stepped(one: &Loop, first: Amps, time: Seconds) -> (f64, f64) {
        let Diode::Exponential { slope, .. } = one.diode else {
            unreachable!("only the soft diode is stepped")
        };
        let steps = 400_000;
        let dt = time.0 / f64::from(steps);
        let (mut current, mut charge) = (first.0, 0.0);
        for _ in 0..steps {
            charge += current * dt;
            let change = current / one.capacitance.0 / (one.resistance.0 + slope.0 / current);
            current -= change * dt;
        }
        (charge, current)
    }

    #[test]
    fn the_closed_form_is_the_differential_equation() {
        let one = of(SOFT);
        for (charge, time) in [(1e-7, 32e-6), (1e-8, 32e-6), (1e-6, 500e-6), (1e-9, 4e-6)] {
            let transfer = one.transfer(charge, Seconds(time));
            let (moved, last) = stepped(&one, transfer.first, Seconds(time));
            assert!((moved / charge - 1.0).abs() < 1e-3, "{moved} of {charge}");
            assert!((last / transfer.last.0 - 1.0).abs() < 1e-2);
        }
    }

    #[test]
    fn a_steep_diode_is_a_constant_one() {
        let steep = Diode::Exponential {
            slope: Volts(1e-5),
            saturation: Amps(1e-3 / (0.38_f64 / 1e-5).min(600.0).exp()),
            known_to: Amps(1.0),
        };
        let linear = of(Diode::Constant(Volts(0.0))).transfer(1e-7, Seconds(32e-6));
        let soft = of(steep).transfer(1e-7, Seconds(32e-6));
        assert!((soft.first.0 / linear.first.0 - 1.0).abs() < 1e-2);
        assert!((soft.last.0 / linear.last.0 - 1.0).abs() < 2e-2);
    }
}
