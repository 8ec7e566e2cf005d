//! A bipolar transistor that is switched at its base.
//!
//! Charge control (J. J. Sparkes and R. Beaufoy, Proc. IRE 45, 1957, from memory): the base's charge
//! decides where the transistor is. From nothing to `delay` no current flows; over the next `rise` the
//! LED's current grows in proportion; what comes on top is stored, and must be taken out again before
//! the light falls. A base that is clamped stores nothing.

use super::{Bipolar, Charges, Level, Load};
use crate::units::{Farads, Ohms, Volts};

/// A transistor with what drives its base.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Base {
    pub part: Bipolar,
    pub load: Load,
    /// Of the pin while on.
    pub logic: Volts,
    /// From pin to base, with the pin's own.
    pub series: Ohms,
    /// From base to emitter; infinite: nothing.
    pub pull_down: Ohms,
    /// Across the base's resistor; zero: none.
    pub speed_up: Farads,
    /// A Schottky diode from base to collector.
    pub clamped: bool,
}

/// Of the thermal voltage at 27 °C: a junction carries ten times the current with 60 mV more.
const THERMAL: f64 = 0.0259;
/// Current at which `base_emitter` is given.
const GIVEN_AT: f64 = 10e-3;
/// What a small Schottky diode (10 pF) adds between base and collector; fitted to ngspice.
const CLAMP: Farads = Farads(13.5e-12);
/// And to the charge that must come before any current flows, per volt of the base; likewise.
const CLAMP_DELAY: f64 = 0.51;
/// A clamped collector moves less than one that saturates; likewise.
const CLAMPED_SWING: f64 = 0.9;
/// What a clamped base stores: hardly anything.
const CLAMPED_STORAGE: f64 = 0.1e-9;
/// A speed-up capacitor moves its charge while the base is on its way: of the base's volts, this
/// share is missing. Fitted to ngspice.
const SPEED_UP_SHARE: f64 = 0.5;
/// When the speed-up capacitor empties the base at once, the LED goes on until the collector's
/// capacitance, this many times `miller`, is charged. Fitted to ngspice.
const COLLECTOR: f64 = 4.0;

/// Figures of a base in its circuit: currents in amperes, charges in coulombs.
#[derive(Debug, Clone, Copy)]
pub(super) struct Figures {
    delay: f64,
    rise: f64,
    storage: f64,
    /// Into the base: before it conducts, and while it does.
    charging: f64,
    driving: f64,
    /// Out of it.
    draining: f64,
    /// What the collector's current takes.
    carried: f64,
    /// Rate at which a base that does not conduct loses its charge.
    leak: f64,
    /// What the speed-up capacitor brings and takes.
    kick: f64,
    /// Seconds of light while the collector charges after a kick.
    collector: f64,
}

impl Base {
    /// Base to emitter, while the LED is lit.
    pub fn base_emitter(&self) -> Volts {
        let part = &self.part;
        let warmer = THERMAL * (self.load.current.0 / GIVEN_AT).ln();
        Volts(part.base_emitter.0 + part.junctions * warmer)
    }

    /// Whether the base gets what the LED's current needs.
    pub fn conducts(&self) -> bool {
        let figures = self.figures();
        figures.driving > figures.carried
    }

    /// What decides its course: worked out once, not for every pulse.
    pub(super) fn figures(&self) -> Figures {
        let (part, load) = (&self.part, &self.load);
        let on = self.base_emitter().0;
        let series = self.series.0 + part.built_in.0;
        let down = 1.0 / self.pull_down.0 + 1.0 / part.shunt.0;
        let (mut delay, mut miller, mut storage) = (part.delay.0, part.miller.0, part.storage.0);
        let mut swing = load.swing.0;
        if self.clamped {
            delay += CLAMP.0 * CLAMP_DELAY;
            miller += CLAMP.0;
            storage = CLAMPED_STORAGE;
            swing -= CLAMPED_SWING;
        }
        let swing = swing.max(0.0);
        let half = on / 2.0;
        Figures {
            delay,
            rise: miller * swing + part.transit.0 * load.current.0,
            storage,
            charging: (self.logic.0 - half) / series - half * down,
            driving: (self.logic.0 - on) / series - on * down,
            draining: on / series + on * down,
            carried: load.current.0 / part.gain,
            leak: (1.0 / series + down) * on / delay,
            kick: self.speed_up.0 * (self.logic.0 - SPEED_UP_SHARE * on),
            collector: COLLECTOR * part.miller.0 * swing / load.current.0,
        }
    }
}

impl Figures {
    /// The base's charge with which the LED has its full current.
    fn full(&self) -> f64 {
        self.delay + self.rise
    }

    /// Of the LED's current, with this charge in the base.
    fn share(&self, charge: f64) -> f64 {
        ((charge - self.delay) / self.rise).clamp(0.0, 1.0)
    }

    /// Between two charges: until `end` or for `time`, at a steady current. The charge, the light, and
    /// the time that is left.
    fn ramp(&self, from: f64, end: f64, current: f64, time: f64) -> (f64, f64, f64) {
        let needs = if current > 0.0 {
            (end - from).abs() / current
        } else {
            f64::INFINITY
        };
        let takes = needs.min(time);
        let to = if needs <= time {
            end
        } else {
            from + current * takes * (end - from).signum()
        };
        let light = f64::midpoint(self.share(from), self.share(to)) * takes;
        (to, light, time - takes)
    }

    fn on(&self, mut charge: f64, mut time: f64) -> (f64, f64) {
        let mut light = 0.0;
        let rising = self.driving - self.carried / 2.0;
        for (end, current) in [(self.delay, self.charging), (self.full(), rising)] {
            if charge < end {
                let lit;
                (charge, lit, time) = self.ramp(charge, end, current, time);
                light += lit;
            }
        }
        if time > 0.0 {
            let most = (self.storage * (self.driving - self.carried)).max(0.0);
            let stored = charge - self.full();
            charge = self.full() + most + (stored - most) * (-time / self.storage).exp();
            light += time;
        }
        (charge, light)
    }

    fn off(&self, mut charge: f64, mut time: f64) -> (f64, f64) {
        let mut light = 0.0;
        if charge > self.full() {
            let pull = self.storage * (self.draining + self.carried);
            let stored = charge - self.full();
            let takes = (self.storage * (1.0 + stored / pull).ln()).min(time);
            charge = self.full() + (stored + pull) * (-takes / self.storage).exp() - pull;
            charge = charge.max(self.full());
            light += takes;
            time -= takes;
        }
        if time > 0.0 && charge > self.delay {
            let falling = self.draining + self.carried / 2.0;
            let lit;
            (charge, lit, time) = self.ramp(charge, self.delay, falling, time);
            light += lit;
        }
        (charge * (-self.leak * time).exp(), light)
    }
}

impl Charges for Figures {
    /// What is in the base, in coulombs.
    type State = f64;

    fn advance(&self, charge: f64, pin: Level, time: f64) -> (f64, f64) {
        match pin {
            Level::On => self.on(charge + self.kick, time),
            Level::Off => {
                let kicked = (charge - self.kick).max(0.0);
                let gone = self.share(charge) - self.share(kicked);
                let (charge, light) = self.off(kicked, time);
                let collector = (gone * self.collector).min(time);
                (charge, (light + collector).min(time))
            }
        }
    }
}
