//! The clocks that suit a pump, and the smallest capacitor.

use serde::Serialize;

use super::{Doubt, Pump};
use crate::units::{Amps, Farads, Hertz, Share, Volts};

/// What a pump does at one of the clocks that the firmware can make.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Offer {
    pub clock: Hertz,
    /// With the load.
    pub volts: Volts,
    /// From crest to trough.
    pub ripple: Volts,
    /// The ripple does not show as flicker.
    pub calm: bool,
}

/// Between which clocks a pump works well with a load.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Window {
    /// Below this, a tenth of the open voltage is lost to droop.
    pub slowest: Hertz,
    /// Above this the capacitors hardly charge through the pins' resistance any more: the output
    /// resistance is within 2 % of its floor.
    pub fastest: Hertz,
    /// Fastest first.
    pub offers: Vec<Offer>,
    /// The slowest calm clock within 1 % of the most voltage; `None`: none is calm.
    pub best: Option<Hertz>,
    /// The smallest usual capacitor that gives 95 % of what an endless one would, at this clock.
    pub smallest: Option<Farads>,
}

/// Open voltage that droop may take at the slowest clock.
const DROOP: f64 = 0.1;
/// Slow resistance over floor at which x / tanh x, the output resistance over the floor, is 1.02.
const AT_FLOOR: f64 = 0.246;
/// How near the best clock must come to the most voltage.
const NEAR: f64 = 0.99;
/// How near the smallest capacitor must come to an endless one.
const ENOUGH: f64 = 0.95;
/// Usual values of capacitors in a decade: E6 of IEC 60063.
const E6: [f64; 6] = [1.0, 1.5, 2.2, 3.3, 4.7, 6.8];

impl Pump {
    /// How it would do at these clocks. `calm` tells whether a modulation of the light at a
    /// frequency is harmless; the light of a string of this much headroom follows the ripple.
    pub fn window(
        &self,
        load: Amps,
        clocks: impl Iterator<Item = Hertz>,
        calm: impl Fn(Hertz, Volts) -> bool,
    ) -> Window {
        let stages = f64::from(self.stages);
        let open = self.output(Amps(0.0)).0;
        let at = |clock| Pump { clock, ..*self };
        let offers: Vec<Offer> = clocks
            .map(|clock| {
                let ripple = at(clock).ripple(load);
                Offer {
                    clock,
                    volts: at(clock).output(load),
                    ripple,
                    calm: calm(clock, ripple),
                }
            })
            .collect();
        let most = offers.iter().map(|offer| offer.volts.0).fold(0.0, f64::max);
        let best = offers
            .iter()
            .filter(|offer| offer.calm && offer.volts.0 >= NEAR * most)
            .map(|offer| offer.clock)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        Window {
            slowest: Hertz(stages * load.0 / (DROOP * open * self.capacitor.0)),
            fastest: Hertz(stages / (AT_FLOOR * self.capacitor.0 * self.floor().0)),
            offers,
            best,
            smallest: self.smallest(load),
        }
    }

    fn smallest(&self, load: Amps) -> Option<Farads> {
        let with = |capacitor| Pump { capacitor, ..*self }.output(load).0;
        let enough = ENOUGH * with(Farads(1.0));
        let decades = (-10..=-3).map(|decade| 10f64.powi(decade));
        decades
            .flat_map(|decade| E6.map(|value| Farads(value * decade)))
            .find(|&capacitor| with(capacitor) >= enough)
    }

    /// The most load that is no overload.
    pub fn most_load(&self) -> Amps {
        let (mut low, mut high) = (0.0, self.supply.0 / self.floor().0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if self.doubts(Amps(middle)).contains(&Doubt::Overload) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Amps(low)
    }

    /// How far a stage's capacitors charge in half a cycle.
    pub fn charged(&self) -> Share {
        let constants = 2.0 * self.slow_resistance().0 / self.floor().0;
        Share(1.0 - (-constants).exp())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::diode::Diode;
    use crate::units::Ohms;

    fn pump() -> Pump {
        Pump {
            stages: 3,
            supply: Volts(5.0),
            capacitor: Farads(1e-6),
            reservoir: Farads(10e-6),
            clock: Hertz(15_625.0),
            driver: Ohms(25.0),
            diode: Diode::Constant(Volts(0.38)),
        }
    }

    fn clocks() -> impl Iterator<Item = Hertz> {
        (0..8).map(|halvings| Hertz(15_625.0 / f64::from(1 << halvings)))
    }

    #[test]
    fn the_best_clock_is_the_slowest_that_loses_nothing() {
        let window = pump().window(Amps(2e-3), clocks(), |_, _| true);
        let best = window.best.expect("all are calm");
        let volts = |clock| Pump { clock, ..pump() }.output(Amps(2e-3)).0;
        let most = volts(Hertz(15_625.0));
        assert!(volts(best) >= 0.99 * most);
        assert!(volts(Hertz(best.0 / 2.0)) < 0.99 * most);
        assert!(window.slowest < window.fastest);
        let at_most = Pump {
            clock: window.fastest,
            ..pump()
        };
        let above = at_most.output_resistance().0 / at_most.floor().0;
        assert!((above - 1.02).abs() < 1e-3, "{above}");
    }

    #[test]
    fn a_clock_that_flickers_is_not_best() {
        let window = pump().window(Amps(2e-3), clocks(), |clock, _| clock.0 > 10e3);
        assert_eq!(window.best, Some(Hertz(15_625.0)));
    }

    #[test]
    fn the_smallest_capacitor_is_just_enough() {
        let load = Amps(2e-3);
        let smallest = pump().smallest(load).expect("some capacitor is enough");
        let with = |capacitor| {
            Pump {
                capacitor,
                ..pump()
            }
            .output(load)
            .0
        };
        assert!(with(smallest) >= 0.95 * with(Farads(1.0)));
        assert!(with(Farads(smallest.0 / 1.6)) < 0.95 * with(Farads(1.0)));
    }
}
