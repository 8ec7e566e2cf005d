//! The charge pump: what comes out of it.
//!
//! Capacitors in a row, diodes between them, the far ends on two pins in turn: J. F. Dickson,
//! 'On-chip high-voltage generation in MNOS integrated circuits using an improved voltage multiplier
//! technique', IEEE Journal of Solid-State Circuits SC-11, 1976. Its equation, with N stages,
//!
//!   V = (N + 1) · V_supply − (N + 1) · V_diode − I · N / (f · C)
//!
//! holds for pins without resistance and diodes with one drop. Here the charge I / f that each diode
//! moves in its half cycle goes through the resistance of the pins and a diode whose drop falls with
//! its current, and what both still hold when the half cycle ends is lost (`transfer`). All
//! capacitors of a pin share its resistance R, so each of its k capacitors feels k · R; this puts a
//! floor of 4 · (k_a² + k_b²) · R under the output resistance, which no clock and no C removes. All
//! loops are taken to decay alike, with the time constant that gives this floor exactly; for
//! constant drops the output resistance is then N / (f · C) · coth(N / (f · C) / floor).
//!
//! How near this comes to simulated transients, and where it ends, is in `tests/board/pump.rs` and
//! [`Pump::doubts`].

mod transfer;
mod window;

use serde::Serialize;

use super::diode::Diode;
use super::root;
use crate::spec::Series;
use crate::units::{Amps, Farads, Hertz, Ohms, Seconds, Volts};
use transfer::{Loop, Transfer};

pub use window::{Offer, Window};

/// A pump at a clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pump {
    /// Pumped capacitors, 1 or more; there is one diode more.
    pub stages: u32,
    /// What goes into the first diode, and how far the pins swing.
    pub supply: Volts,
    /// Of each stage.
    pub capacitor: Farads,
    /// At the output.
    pub reservoir: Farads,
    pub clock: Hertz,
    /// Output resistance of each of the two pins. More than zero.
    pub driver: Ohms,
    pub diode: Diode,
}

/// Something that makes [`Pump::output`] inexact at a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Doubt {
    /// The load asks for more than a stage can give: its capacitors would swing further than the
    /// pins do.
    Overload,
    /// In a cycle the diodes leak back a share of the capacitors' charge that counts.
    Leakage,
    /// The reservoir is smaller than a stage's capacitor, and the output is mostly ripple.
    Reservoir,
    /// The capacitors are not much more than those of the diodes and the wiring.
    Stray,
    /// The diodes carry more than at the second point that is given of their curve: their
    /// resistance, which no point tells, holds back more than the law says.
    Diode,
}

/// Across the output, so that it does not stay charged: emptied in some seconds, at a current that
/// does not count beside a load's. The parts list asks for it.
pub const BLEEDER: Ohms = Ohms(1e6);

/// A stage that droops by more of the swing than this is overloaded. Found by simulation: errors
/// stay below 2 % up to here.
const MOST_DROOP: f64 = 0.9;
/// The share of the output that the strings' resistors need to hold, so that the current does not
/// depend on the LEDs alone (common practice, no source).
const SPARE: f64 = 0.1;
/// The most of the swing that leakage may take in a cycle.
const LEAKAGE: f64 = 0.01;
/// A diode and its wiring have about 10 pF (datasheets of small Schottky and signal diodes: 2 to
/// 15 pF), which must be below a hundredth of a stage's capacitor.
const STRAY: Farads = Farads(1e-9);

impl Pump {
    /// The mean output voltage with a load that draws `load`. Never below what the supply gives
    /// through the diodes alone, and never negative.
    pub fn output(&self, load: Amps) -> Volts {
        let pumped = self.pumped(load);
        Volts(pumped.0.max(self.direct(load).0).max(0.0))
    }

    /// With nothing but the bleeder on it.
    pub fn open(&self) -> Volts {
        self.settle(|volts| Amps(volts.0 / BLEEDER.0)).0
    }

    /// What makes the output inexact at this load; empty: within 3 % of a simulation.
    pub fn doubts(&self, load: Amps) -> Vec<Doubt> {
        let droop = self.droop(load);
        let pumped = self.pumped(load);
        let overload = droop > MOST_DROOP * self.supply.0 || pumped.0 < self.supply.0;
        let leaked = self.droop(self.diode.leakage());
        let all = [
            (overload, Doubt::Overload),
            (leaked > LEAKAGE * self.supply.0, Doubt::Leakage),
            (self.reservoir.0 < self.capacitor.0, Doubt::Reservoir),
            (self.capacitor.0 < STRAY.0, Doubt::Stray),
            (self.beyond_the_diode(load), Doubt::Diode),
        ];
        all.iter()
            .filter(|(is, _)| *is)
            .map(|(_, doubt)| *doubt)
            .collect()
    }

    /// Whether the diodes carry more, in their half of the time, than is known of them.
    fn beyond_the_diode(&self, load: Amps) -> bool {
        self.diode
            .known_to()
            .is_some_and(|most| 2.0 * load.0 > most.0)
    }

    /// By how much a cycle's charge lowers a stage's capacitor.
    fn droop(&self, charge: Amps) -> f64 {
        charge.0 / self.clock.0 / self.capacitor.0
    }

    /// The mean voltage at each stage's node.
    ///
    /// A node is raised by the swing for half of the time.
    pub fn nodes(&self, load: Amps) -> Vec<Volts> {
        let losses = self.losses(load);
        let swing = self.supply.0 - self.droop(load);
        (1..=self.stages)
            .map(|node| Volts(self.after(node, load, losses).0 + swing / 2.0))
            .collect()
    }

    /// What has come through all diodes.
    fn pumped(&self, load: Amps) -> Volts {
        self.after(self.stages + 1, load, self.losses(load))
    }

    /// What the first diode, each one within, and the last hold back.
    fn losses(&self, load: Amps) -> [f64; 3] {
        self.transfers(load).map(|transfer| transfer.left.0)
    }

    /// Where the first `diodes` diodes have brought the charge when their half cycle ends.
    fn after(&self, diodes: u32, load: Amps, [first, inner, last]: [f64; 3]) -> Volts {
        let raised = f64::from(diodes - 1) * (self.supply.0 - self.droop(load));
        let inside = diodes.min(self.stages) - 1;
        let end = if diodes > self.stages { last } else { 0.0 };
        let left = first + f64::from(inside) * inner + end;
        Volts(self.supply.0 + raised - left)
    }

    /// What the diodes let through without any pumping.
    fn direct(&self, load: Amps) -> Volts {
        let drops = f64::from(self.stages + 1) * self.diode.drop(load).0;
        Volts(self.supply.0 - drops)
    }

    /// Where the output settles with a load whose current is `load` at a voltage, and falls with it.
    pub fn settle(&self, load: impl Fn(Volts) -> Amps) -> (Volts, Amps) {
        let open = self.output(Amps(0.0)).0;
        let more = |volts| self.output(load(Volts(volts))).0 - volts;
        let volts = Volts(root::between(0.0, open, more));
        (volts, load(volts))
    }

    /// By how much the output falls per ampere, diodes left aside.
    pub fn output_resistance(&self) -> Ohms {
        let slow = self.slow_resistance().0;
        let floor = self.floor().0;
        Ohms(slow / (slow / floor).tanh())
    }

    /// The textbook's N / (f · C): the output resistance with perfect pins.
    pub fn slow_resistance(&self) -> Ohms {
        Ohms(f64::from(self.stages) / (self.clock.0 * self.capacitor.0))
    }

    /// What the pins' resistance puts under the output resistance.
    ///
    /// The load's current flows in every loop, in half of the time, hence twice as strong; a pin
    /// with k capacitors carries k such currents all the time: 4 · (k_a² + k_b²) · R.
    pub fn floor(&self) -> Ohms {
        let [a, b] = self.capacitors_per_pin().map(f64::from);
        Ohms(4.0 * (a * a + b * b) * self.driver.0)
    }

    /// Capacitors on each pin.
    pub fn capacitors_per_pin(&self) -> [u32; 2] {
        [self.stages.div_ceil(2), self.stages / 2]
    }

    /// From crest to trough at the output, at most: all of a cycle's charge at once.
    pub fn ripple(&self, load: Amps) -> Volts {
        Volts(load.0 / self.clock.0 / self.reservoir.0)
    }

    /// From a cold start to 95 % of the loaded output, within a fifth; sooner where the load makes a
    /// stage droop by more than half of the swing.
    ///
    /// The reservoir, and a third of the stages' capacitors (a row of equal capacitors behaves so at
    /// its end), charge through the output resistance from what the diodes let through at once.
    pub fn start_up(&self, load: Amps) -> Seconds {
        let stages = f64::from(self.stages);
        let goal = self.output(load).0;
        let begin = self.direct(load).0.max(0.0);
        let capacitance = self.reservoir.0 + stages * self.capacitor.0 / 3.0;
        let constant = self.output_resistance().0 * capacitance;
        Seconds(constant * ((goal - begin) / (0.05 * goal)).max(1.0).ln())
    }

    /// The current in the busier of the two pins.
    pub fn drive(&self, load: Amps) -> PinLoad {
        let capacitors = f64::from(self.capacitors_per_pin()[0]);
        let first = self.transfers(load).map(|transfer| transfer.first.0);
        PinLoad {
            mean: Amps(2.0 * capacitors * load.0),
            peak: Amps(capacitors * first.into_iter().fold(0.0, f64::max)),
            start: Amps(self.supply.0 / self.driver.0),
        }
    }

    /// The resistor at each pin with which no pin carries more than `most` into empty capacitors, and
    /// what that leaves of the output, of which the strings can spare so much. `None`: none is needed.
    pub fn gentle(&self, load: Amps, most: Amps, spare: Volts) -> Option<Gentle> {
        if self.drive(load).start.0 <= most.0 {
            return None;
        }
        let resistor = Series::E12.at_least(Ohms(self.supply.0 / most.0 - self.driver.0));
        let driver = Ohms(self.driver.0 + resistor.0);
        let gentler = Self { driver, ..*self };
        let output = gentler.output(load);
        let now = self.output(load);
        let left = spare.0 - (now.0 - output.0);
        Some(Gentle {
            resistor,
            output,
            useful: left >= SPARE * now.0 && !gentler.doubts(load).contains(&Doubt::Overload),
        })
    }

    /// What the pump takes from the supply: the load's current once for each diode.
    pub fn input(&self, load: Amps) -> Amps {
        Amps(f64::from(self.stages + 1) * load.0)
    }

    /// Of the first diode, of each one within, and of the last.
    fn transfers(&self, load: Amps) -> [Transfer; 3] {
        // A load of nothing still has the diodes' leakage to carry.
        let load = load.0.max(1e-9);
        let half = Seconds(0.5 / self.clock.0);
        let c = self.capacitor.0;
        let constant = self.floor().0 * c / (4.0 * f64::from(self.stages));
        let series = |one: f64, other: f64| one * other / (one + other);
        let ends = constant / c;
        let within = constant / (c / 2.0);
        [
            (ends, c),
            (within, series(c, c)),
            (ends, series(c, self.reservoir.0)),
        ]
        .map(|(resistance, capacitance)| {
            Loop {
                capacitance: Farads(capacitance),
                resistance: Ohms(resistance),
                diode: self.diode,
            }
            .transfer(load / self.clock.0, half)
        })
    }
}

/// How a pump would start gently.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gentle {
    /// One in series with each pin.
    pub resistor: Ohms,
    /// With the same load.
    pub output: Volts,
    /// That is enough for the strings.
    pub useful: bool,
}

/// What a pump asks of a pin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PinLoad {
    /// In either direction, over each half cycle.
    pub mean: Amps,
    /// When a half cycle begins.
    pub peak: Amps,
    /// At most, into empty capacitors.
    pub start: Amps,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pump(stages: u32, diode: Diode) -> Pump {
        Pump {
            stages,
            supply: Volts(5.0),
            capacitor: Farads(1e-6),
            reservoir: Farads(10e-6),
            clock: Hertz(15_625.0),
            driver: Ohms(25.0),
            diode,
        }
    }

    /// Common practice, no source: five stages on 5 V with drops near 0.38 V read, unloaded, about
    /// these on average at the successive stage nodes and at the output.
    #[test]
    fn the_rule_of_the_trade_for_five_stages() {
        let pump = pump(5, Diode::Constant(Volts(0.38)));
        let read: Vec<f64> = pump.nodes(Amps(0.0)).iter().map(|volts| volts.0).collect();
        for (node, rule) in read.iter().zip([7.1, 11.8, 16.4, 21.0, 25.6]) {
            assert!((node - rule).abs() < 0.1, "{read:?}");
        }
        assert!((pump.output(Amps(0.0)).0 - 27.7).abs() < 0.1);
    }

    /// Dickson's equation, where pins have next to no resistance.
    #[test]
    fn perfect_pins_give_the_textbook() {
        for stages in 1..=8 {
            let mut pump = pump(stages, Diode::Constant(Volts(0.4)));
            pump.driver = Ohms(1e-3);
            let load = Amps(1e-3);
            let n = f64::from(stages);
            let textbook = (n + 1.0) * (5.0 - 0.4) - 1e-3 * n / (15_625.0 * 1e-6);
            assert!((pump.output(load).0 - textbook).abs() < 1e-3);
        }
    }

    /// The figures: hundreds of ohms at three stages, near two kilohms at six.
    #[test]
    fn pins_put_a_floor_under_the_output_resistance() {
        let drop = Diode::Constant(Volts(0.4));
        assert_eq!(pump(3, drop).floor(), Ohms(500.0));
        assert_eq!(pump(6, drop).floor(), Ohms(1800.0));
        for stages in 1..=8 {
            let mut pump = pump(stages, drop);
            pump.clock = Hertz(1e6);
            pump.capacitor = Farads(1e-3);
            assert!((pump.output_resistance().0 / pump.floor().0 - 1.0).abs() < 1e-3);
        }
    }

    #[test]
    fn for_constant_drops_the_loops_add_up_to_the_output_resistance() {
        for stages in [2, 3, 6] {
            let mut pump = pump(stages, Diode::Constant(Volts(0.4)));
            pump.capacitor = Farads(2e-7);
            pump.reservoir = Farads(1.0);
            let load = Amps(1e-3);
            let lost = pump.output(Amps(0.0)).0 - pump.output(load).0;
            let expected = load.0 * pump.output_resistance().0;
            assert!(
                (lost / expected - 1.0).abs() < 2e-3,
                "{stages}: {lost} {expected}"
            );
        }
    }

    #[test]
    fn an_overload_brings_it_down_to_the_diodes_and_no_further() {
        let pump = pump(3, Diode::Constant(Volts(0.4)));
        assert_eq!(pump.output(Amps(1.0)), Volts(5.0 - 4.0 * 0.4));
        assert_eq!(pump.doubts(Amps(1.0)), [Doubt::Overload]);
        let many = Pump {
            stages: 12,
            diode: Diode::Constant(Volts(0.7)),
            ..pump
        };
        assert_eq!(many.output(Amps(1.0)), Volts(0.0));
    }

    #[test]
    fn a_load_settles_where_both_agree() {
        let pump = pump(3, Diode::Constant(Volts(0.4)));
        let (volts, load) = pump.settle(|volts| Amps(volts.0 / 5000.0));
        assert!((pump.output(load).0 - volts.0).abs() < 1e-6);
    }
}
