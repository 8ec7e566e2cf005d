//! What the chip puts out for a channel, as a duty.

use super::Bench;
use super::setup::{LampPlace, Lamps};
use crate::drive::Drive;
use crate::drive::port::PortDrive;
use crate::drive::timer::{Dither, Split};
use crate::units::Duty;

impl Bench<'_> {
    /// What the chip puts out for a channel.
    pub(super) fn duty(&mut self, channel: usize) -> Duty {
        match (&self.setup.design.plan.drive, &self.setup.lamps) {
            (Drive::Timer(drive), Lamps::Values(places)) => {
                self.value(drive.dither, places[channel])
            }
            (Drive::Port(drive), Lamps::Planes { planes, fresh }) => {
                let low = u16::from(self.machine.memory(*fresh));
                self.sliced(drive, (planes & 0xFF00) | low, channel)
            }
            _ => unreachable!("the lamps are the drive's"),
        }
    }

    /// The duty whose bits are in a buffer of planes.
    fn sliced(&mut self, drive: &PortDrive, buffer: u16, channel: usize) -> Duty {
        let plan = &drive.channels[channel];
        let port = drive.port_of(plan.pin);
        let rest = drive.ports[port].rest;
        let first = buffer + port as u16 * u16::from(drive.planes.bits);
        let bit = |plane: u8| {
            let byte = self.machine.memory(first + u16::from(plane));
            u16::from((byte ^ rest) & plan.pin.mask() != 0) << plane
        };
        drive.planes.duty((0..drive.planes.bits).map(bit).sum())
    }

    /// The duty of a channel's compare values.
    fn value(&mut self, dither: Dither, place: LampPlace) -> Duty {
        let rest = !self.machine.memory(place.rest);
        let lead = if dither.extra_bits > 0 {
            !self.machine.memory(place.lead)
        } else {
            rest
        };
        dither.duty(Split { lead, rest })
    }
}
