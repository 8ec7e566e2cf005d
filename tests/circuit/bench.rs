//! From a circuit of the tests to the model's, and measurements of both.

use duskloom::circuit::switch::{
    Base, Course, Device, Follower, Gate, LedOnPin, Load, Pulse, Switching, find,
};
use duskloom::units::{Amps, Farads, Ohms, Seconds, Volts};

use super::netlist::{Circuit, Kind, PIN};
use crate::common::spice::{run, value};

/// A count of a timer at 8 MHz.
pub(super) const COUNT: f64 = 125e-9;
/// Pulses of so many counts.
pub(super) const WIDTHS: [f64; 7] = [1.0, 2.0, 3.0, 4.0, 8.0, 16.0, 64.0];

impl Circuit {
    /// The same as the model sees it.
    pub(super) fn switching(&self) -> Switching {
        let part = find(&self.part).map(|entry| entry.part);
        self.with(part)
    }

    pub(super) fn with(&self, part: Option<Device>) -> Switching {
        let load = Load {
            current: Amps(self.current * 1e-3),
            swing: Volts(self.swing()),
        };
        let logic = Volts(self.logic);
        let series = Ohms(self.series + PIN);
        match (part, self.kind) {
            (Some(Device::Mosfet(part)), _) => Switching::Gate(Gate {
                part,
                load,
                logic,
                series,
            }),
            (Some(Device::Bipolar(part)), Kind::Sink) => {
                let upper = series.0;
                let share = self.pull_down / (upper + self.pull_down);
                Switching::Follower(Follower {
                    part,
                    load,
                    open: Volts(self.logic * share),
                    source: Ohms(upper * share),
                })
            }
            (Some(Device::Bipolar(part)), kind) => Switching::Base(Base {
                part,
                load,
                logic,
                series,
                pull_down: Ohms(match self.pull_down {
                    0.0 => f64::INFINITY,
                    ohms => ohms,
                }),
                speed_up: Farads(self.speed_up * 1e-12),
                clamped: kind == Kind::Clamped,
            }),
            (None, _) => Switching::Pin(LedOnPin {
                load,
                capacitance: Farads(self.capacitance * 1e-12),
                forward: Volts(self.forward),
                parallel: 1.0,
            }),
        }
    }

    /// The extra on-time of each width, in nanoseconds, as the model has it.
    pub(super) fn modelled(&self) -> Vec<f64> {
        self.extra(&self.switching())
    }

    #[allow(clippy::unused_self, reason = "reads as the circuit's")]
    pub(super) fn extra(&self, switching: &Switching) -> Vec<f64> {
        let widths = WIDTHS.iter().map(|counts| Seconds(counts * COUNT));
        widths.map(|width| switching.extra(width).0 * 1e9).collect()
    }

    /// The same, as ngspice measures it. `None`: ngspice is not there.
    pub(super) fn measured(&self) -> Option<Vec<f64>> {
        let mut starts = vec![1e-6];
        for counts in WIDTHS {
            let last = starts[starts.len() - 1];
            starts.push(last + if counts > 32.0 { 64e-6 } else { 32e-6 });
        }
        let steady = starts[WIDTHS.len()];
        let widths = WIDTHS.iter().map(|counts| counts * COUNT).chain([40e-6]);
        let pulses: Vec<(f64, f64)> = starts.iter().copied().zip(widths).collect();
        let mut commands = format!(
            ".tran 5n {:e} 0 40n\n.meas tran full avg i(vm) from={:e} to={:e}\n",
            steady + 42e-6,
            steady + 28e-6,
            steady + 38e-6
        );
        for (index, pair) in starts.windows(2).enumerate() {
            commands += &format!(
                ".meas tran q{index} integ i(vm) from={:e} to={:e}\n",
                pair[0], pair[1]
            );
        }
        let output = run(&self.netlist(&pulses, &commands))?;
        let full = value(&output, "full");
        assert!(full > 0.7e-3 * self.current, "{self:?} is not lit");
        let extra = |index: usize| {
            let lit = value(&output, &format!("q{index}")) / full;
            ((lit - pulses[index].1) * 1e10).round() / 10.0
        };
        Some((0..WIDTHS.len()).map(extra).collect())
    }

    /// The light of a round of these pulses, over the whole time; measured in the second round. `None`:
    /// ngspice is not there.
    pub(super) fn measured_round(&self, round: &[Pulse]) -> Option<f64> {
        let length: f64 = round.iter().map(|pulse| pulse.on.0 + pulse.off.0).sum();
        let begin = 2e-6;
        let mut pulses: Vec<(f64, f64)> = Vec::new();
        let mut start = begin;
        for pulse in round.iter().chain(round) {
            match pulses.last_mut() {
                // Without a pause between them they are one.
                Some((last, width)) if start - (*last + *width) < COUNT / 2.0 => {
                    *width = start + pulse.on.0 - *last;
                }
                _ if pulse.on.0 > 0.0 => pulses.push((start, pulse.on.0)),
                _ => {}
            }
            start += pulse.on.0 + pulse.off.0;
        }
        let steady = begin + 2.0 * length + 50e-6;
        pulses.push((steady, 60e-6));
        let commands = format!(
            ".tran 5n {:e} 0 40n\n.meas tran full avg i(vm) from={:e} to={:e}\n\
             .meas tran q integ i(vm) from={:e} to={:e}\n",
            steady + 62e-6,
            steady + 40e-6,
            steady + 58e-6,
            begin + length,
            begin + 2.0 * length
        );
        let output = run(&self.netlist(&pulses, &commands))?;
        Some(value(&output, "q") / value(&output, "full") / length)
    }

    /// The same as the model has it.
    pub(super) fn modelled_round(&self, round: &[Pulse]) -> f64 {
        let course = Course::new(round.iter().copied());
        self.switching().light(&course).0 / course.length().0
    }
}
