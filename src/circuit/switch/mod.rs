//! The switch between pin and LED: how long the LED really is lit when the pin is on.
//!
//! ```text
//! Device (catalogue or datasheet) ─┐
//! Drive (volts, resistors) ────────┼→ Switching ─light(Course)→ seconds of full light
//! Load (current, rail) ────────────┘
//! ```
//!
//! A transistor turns on and off late. What the LED is lit longer than the pin is on is its *extra
//! on-time*: some 0.2 µs for a small NPN that saturates, less than nothing for a pin that must first
//! charge the LED. With pulses of 125 ns that is most of the light.
//!
//! The model moves charge: into and out of a base, a gate, an LED. Its figures are fitted to ngspice
//! transients of the makers' published models; `tests/circuit/switch.yaml` keeps what ngspice
//! measured, and how near the model comes. Only pulses, volts and charges: no chip, no PWM, no eye.

mod base;
mod catalogue;
mod course;
mod cure;
mod datasheet;
mod device;
mod follower;
mod gate;
mod load;
mod pin;

use crate::units::{Seconds, Share};

pub use base::Base;
pub use catalogue::{Entry, entries, find, names, nearest};
pub use course::{Course, Pulse};
pub use cure::{Divider, divider, emitter_current, emitter_resistor, speed_up};
pub use device::{Bipolar, Device, Family, Mosfet};
pub use follower::Follower;
pub use gate::Gate;
pub use load::Load;
pub use pin::LedOnPin;

/// A switch with all around it that decides its speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Switching {
    /// A bipolar transistor, emitter to ground, that saturates unless it is clamped.
    Base(Base),
    /// A MOSFET, source to ground.
    Gate(Gate),
    /// A bipolar transistor with a resistor in its emitter: a current sink.
    Follower(Follower),
    /// Nothing: the pin itself.
    Pin(LedOnPin),
}

impl Switching {
    /// How long the LED is lit in one round of a pin's course that goes on for ever, as if at full
    /// current.
    pub fn light(&self, course: &Course) -> Seconds {
        match self {
            Self::Base(base) => course.settled(&base.figures()),
            Self::Gate(gate) => course.settled(gate),
            Self::Follower(follower) => course.settled(follower),
            Self::Pin(pin) => course.settled(pin),
        }
    }

    /// What one pulse is lit longer than it is wide, long after the one before it. Below zero: it is
    /// lit for a shorter time.
    pub fn extra(&self, width: Seconds) -> Seconds {
        let alone = Course::new([Pulse {
            on: width,
            off: LONG,
        }]);
        Seconds(self.light(&alone).0 - width.0)
    }

    /// The shortest pulse that gives any light.
    pub fn least_pulse(&self) -> Seconds {
        let lit = |width: f64| self.extra(Seconds(width)).0 + width > LEAST.0;
        let (mut dark, mut bright) = (0.0, LONG.0);
        for _ in 0..40 {
            let middle = f64::midpoint(dark, bright);
            if lit(middle) {
                bright = middle;
            } else {
                dark = middle;
            }
        }
        Seconds(bright)
    }

    /// The same with a storage time of this share of the typical one. What stores nothing stays as it
    /// is.
    pub fn with_storage(mut self, share: Share) -> Self {
        if let Self::Base(base) = &mut self {
            base.part.storage.0 *= share.0;
        }
        self
    }
}

/// Less light than this is none.
const LEAST: Seconds = Seconds(1e-12);

/// Long after all charges have gone.
const LONG: Seconds = Seconds(1e-3);

/// A switch's charges as they move through time.
trait Charges {
    /// At rest is the default.
    type State: Copy + Default;

    /// The state after the pin has been on, or off, for this long, and the seconds of full light
    /// meanwhile.
    fn advance(&self, state: Self::State, pin: Level, time: f64) -> (Self::State, f64);
}

/// What the pin does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Level {
    On,
    Off,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Amps, Farads, Ohms, Volts};

    const COUNT: f64 = 125e-9;

    /// Every part of the catalogue, in a usual circuit, and the other ways to switch.
    fn all() -> Vec<Switching> {
        let load = Load {
            current: Amps(10e-3),
            swing: Volts(2.0),
        };
        let logic = Volts(5.0);
        let mut all: Vec<Switching> = entries()
            .iter()
            .map(|entry| match entry.part {
                Device::Bipolar(part) => Switching::Base(Base {
                    part,
                    load,
                    logic,
                    series: Ohms(8200.0),
                    pull_down: Ohms(100e3),
                    speed_up: Farads(0.0),
                    clamped: false,
                }),
                Device::Mosfet(part) => Switching::Gate(Gate {
                    part,
                    load,
                    logic,
                    series: Ohms(125.0),
                }),
            })
            .collect();
        let Switching::Base(base) = all[0] else {
            panic!("the first is an NPN")
        };
        all.push(Switching::Base(Base {
            clamped: true,
            ..base
        }));
        all.push(Switching::Base(Base {
            speed_up: speed_up(&base.part, base.series),
            ..base
        }));
        all.push(Switching::Follower(Follower {
            part: base.part,
            load,
            open: Volts(2.0),
            source: Ohms(600.0),
        }));
        all.push(Switching::Pin(LedOnPin {
            load,
            capacitance: Farads(30e-12),
            forward: Volts(3.0),
            parallel: 1.0,
        }));
        all
    }

    fn steady(on: u32, off: u32) -> Course {
        Course::new([Pulse {
            on: Seconds(f64::from(on) * COUNT),
            off: Seconds(f64::from(off) * COUNT),
        }])
    }

    /// More on-time is never less light, and there is never more light than time.
    #[test]
    fn light_rises_with_the_pin_s_on_time_up_to_all_of_it() {
        for switch in all() {
            let mut before = 0.0;
            for on in 0..=256 {
                let course = steady(on, 256 - on);
                let light = switch.light(&course).0;
                assert!(light >= before - 1e-12, "{on}: {light} {switch:?}");
                assert!(light <= course.length().0 + 1e-12, "{on} {switch:?}");
                before = light;
            }
            assert!((before - 256.0 * COUNT).abs() < 1e-12, "{switch:?}");
        }
    }

    /// Pauses shorter than the turn-off time are never dark.
    #[test]
    fn short_pauses_are_filled() {
        let npn = all()[0];
        let (gap, long) = (steady(255, 1), steady(128, 128));
        assert!((npn.light(&gap).0 / gap.length().0 - 1.0).abs() < 1e-3);
        let extra = npn.extra(Seconds(128.0 * COUNT));
        let real = npn.light(&long).0 - long.on().0;
        assert!((real - extra.0).abs() < 1e-10, "{real} {extra}");
    }

    #[test]
    fn the_least_pulse_is_the_delay() {
        for switch in all() {
            let least = switch.least_pulse();
            if least.0 < 1e-9 {
                // A speed-up capacitor lights it at once.
                continue;
            }
            assert!(switch.extra(Seconds(least.0 * 0.99)).0 + least.0 * 0.99 <= LEAST.0);
            assert!(switch.extra(Seconds(least.0 * 1.2)).0 + least.0 * 1.2 >= LEAST.0);
        }
    }

    #[test]
    fn twice_the_storage_is_more_light_and_only_bipolar_parts_store() {
        let width = Seconds(64.0 * COUNT);
        for switch in all() {
            let (once, twice) = (switch, switch.with_storage(Share(2.0)));
            let more = twice.extra(width).0 - once.extra(width).0;
            let stores = matches!(switch, Switching::Base(base) if !base.clamped);
            assert_eq!(more > 10e-9, stores, "{more} {switch:?}");
        }
    }
}
