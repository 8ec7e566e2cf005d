//! The hand at the bench: on the button, at contacts, on the knob.

use super::start::Press;
use super::{Bench, Finger};
use crate::spec::ButtonTo;
use crate::target::Measured;
use crate::units::{Lux, Volts};
use crate::verify::machine::Moment;

impl Bench<'_> {
    /// Has the button's contact open or close so many seconds after power-up; in order of time. It
    /// does so once the processor sleeps, so that it is clear what the firmware reads.
    pub fn contact_at(&mut self, seconds: f64, down: bool) {
        self.close_at(seconds, Finger::Button, down);
    }

    /// The same of any contact.
    pub fn close_at(&mut self, seconds: f64, what: Finger, down: bool) {
        let at = Moment((seconds * self.machine.clock().0).round() as u64);
        self.presses.push_back(Press { at, what, down });
    }

    pub(super) fn close(&mut self, what: Finger, closed: bool) {
        match what {
            Finger::Button => self.sensed.button = closed,
            Finger::Switch => self.sensed.switch = closed,
            Finger::Contact(at) if closed => self.sensed.contacts |= 1 << at,
            Finger::Contact(at) => self.sensed.contacts &= !(1 << at),
        }
        if let Some((pin, to)) = self.setup.finger(what) {
            // What holds it while it is open: the chip's pull-up, or a resistor to ground.
            let level = match to {
                ButtonTo::Supply => Some(closed),
                ButtonTo::Ground => closed.then_some(false),
            };
            self.machine.drive(pin, level);
        }
    }

    /// Turns the knob to a share of its way, once the processor sleeps.
    pub fn turn_knob(&mut self, share: f64) {
        if let Some(pin) = self.setup.knob {
            self.machine.apply(pin, share);
        }
    }

    /// So much light falls on the sensor.
    pub fn shine_on(&mut self, light: Lux) {
        if let Some((pin, divider)) = self.setup.sensor {
            self.machine.apply(pin, divider.share(light).0);
        }
    }

    /// So much is left of the supply.
    pub fn feed(&mut self, supply: Volts) {
        if let Some(plan) = &self.setup.supply {
            self.machine.set_bandgap(plan.measured(supply).0);
        }
    }

    /// What the firmware has read of the converter is what the model goes by.
    pub(super) fn notice_measured(&mut self) {
        let converter = self.setup.design.plan.converter.as_ref();
        let read = |what| {
            let channel = converter.and_then(|one| one.channel(what));
            channel.and_then(|channel| self.machine.converted(channel))
        };
        let (knob, room) = (read(Measured::Knob), read(Measured::Room));
        self.sensed.knob = knob.unwrap_or(self.sensed.knob);
        self.sensed.room = room.unwrap_or(self.sensed.room);
        self.sensed.cells = read(Measured::Cells).unwrap_or(self.sensed.cells);
    }
}
