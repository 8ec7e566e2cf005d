//! What the chip puts out for a channel, as a duty.

use super::Bench;
use super::setup::LampPlace;
use crate::drive::port::Planes;
use crate::drive::timer::{Dither, Split};
use crate::drive::{PortPlan, Way};
use crate::light::FULL;
use crate::spec::Active;
use crate::units::Duty;

impl Bench<'_> {
    /// What the chip puts out for a channel.
    pub(super) fn duty(&mut self, channel: usize) -> Duty {
        let setup = self.setup;
        let drive = &setup.design.plan.drive;
        match (drive.channels()[channel].way, drive.timer(), drive.planes()) {
            (Way::Output(_), Some(timer), _) => {
                let place = setup.lamps.values[channel];
                self.value(timer.dither, place.expect("an output has compare values"))
            }
            (Way::Planes, _, Some((planes, ports))) => self.sliced(planes, ports, channel),
            (Way::Latch, ..) => self.switched(channel),
            _ => unreachable!("channels go the ways of their drive"),
        }
    }

    /// The duty whose bits are in the buffer of planes that was filled last.
    fn sliced(&mut self, planes: Planes, ports: &[PortPlan], channel: usize) -> Duty {
        let places = self.setup.lamps.planes.expect("the drive has planes");
        let low = u16::from(self.machine.memory(places.fresh));
        let pin = self.setup.design.plan.drive.channels()[channel].pin;
        let port = ports.iter().position(|port| port.letter == pin.port);
        let port = port.expect("the pin's port is written");
        let first = (places.buffers & 0xFF00 | low) + port as u16 * u16::from(planes.bits);
        let bit = |plane: u8| {
            let byte = self.machine.memory(first + u16::from(plane));
            u16::from((byte ^ ports[port].rest) & pin.mask() != 0) << plane
        };
        planes.duty((0..planes.bits).map(bit).sum())
    }

    /// All or nothing, as the pin's latch has it.
    fn switched(&mut self, channel: usize) -> Duty {
        let plan = &self.setup.design.plan.drive.channels()[channel];
        let latched = self.setup.design.plan.drive.latched();
        let port = latched.iter().find(|port| port.letter == plan.pin.port);
        let register = &port.expect("the pin's port is written").register;
        let address = self.machine.address_of(register);
        let latch = self
            .machine
            .memory(address.expect("the part has this port"));
        let high = latch & plan.pin.mask() != 0;
        match high == (plan.active == Active::High) {
            true => FULL,
            false => Duty(0),
        }
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
