//! A diode's law: how much it drops at a current.

use serde::Serialize;

use crate::spec;
use crate::units::{Amps, Volts};

/// What a diode drops.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Diode {
    /// The same at every current.
    Constant(Volts),
    /// V = slope · ln(1 + I / saturation): the diode equation, W. Shockley, Bell System Technical
    /// Journal 28, 1949. `slope` is the thermal voltage times the ideality factor.
    Exponential {
        slope: Volts,
        saturation: Amps,
        /// Above this current its resistance counts, of which nothing is known.
        known_to: Amps,
    },
}

impl Diode {
    /// The law through two points of the curve, the lower current first.
    pub fn through([low, high]: [(Amps, Volts); 2]) -> Self {
        let slope = (high.1.0 - low.1.0) / (high.0.0 / low.0.0).ln();
        Self::Exponential {
            slope: Volts(slope),
            saturation: Amps(low.0.0 / (low.1.0 / slope).exp_m1()),
            known_to: high.0,
        }
    }

    pub fn drop(self, current: Amps) -> Volts {
        match self {
            Self::Constant(drop) => drop,
            Self::Exponential {
                slope, saturation, ..
            } => Volts(slope.0 * (current.0.max(0.0) / saturation.0).ln_1p()),
        }
    }

    /// What it lets through backwards.
    pub fn leakage(self) -> Amps {
        match self {
            Self::Constant(_) => Amps(0.0),
            Self::Exponential { saturation, .. } => saturation,
        }
    }

    /// The most current at which its drop is known. `None`: at all.
    pub fn known_to(self) -> Option<Amps> {
        match self {
            Self::Constant(_) => None,
            Self::Exponential { known_to, .. } => Some(known_to),
        }
    }
}

impl From<spec::Diode> for Diode {
    fn from(written: spec::Diode) -> Self {
        match written {
            spec::Diode::Drop(drop) => Self::Constant(drop),
            spec::Diode::Points(points) => Self::through(points),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_law_goes_through_its_points() {
        let points = [(Amps(1e-3), Volts(0.30)), (Amps(1e-2), Volts(0.38))];
        let diode = Diode::through(points);
        for (current, drop) in points {
            assert!((diode.drop(current).0 - drop.0).abs() < 1e-4);
        }
        assert_eq!(diode.drop(Amps(0.0)), Volts(0.0));
    }
}
