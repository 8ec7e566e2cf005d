//! What ports put out before anything runs.

use crate::chip::Pin;
use crate::spec::{Active, ButtonTo, Project};
use crate::target::Target;

use super::Plan;

/// A port's output latch as it is set before its pins become outputs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Latch {
    pub register: String,
    pub value: u8,
    /// Why, bit by bit.
    pub reasons: Vec<HighPin>,
}

/// Why a pin's bit is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HighPin {
    /// The pull-up of the button.
    PullUp(Pin),
    /// That of a contact, by its index.
    ContactPullUp(usize),
    /// That of the switch.
    SelectorPullUp,
    /// The pump's first pin.
    Pump(Pin),
    /// A channel, by its index, that is dark when its pin is high.
    Dark(usize),
    /// Pull-ups of pins that nothing hangs on, so that none of them floats.
    Unused,
}

impl Plan {
    /// Pull-ups of button and contacts, the pump's opposite starts, strings that are dark when high; and while a port
    /// is written, pull-ups for its unused pins.
    pub(super) fn latches(&self, project: &Project) -> Vec<Latch> {
        let button = self.button.iter().filter(|_| !project.button_to_supply());
        let button = button.map(|button| (button.pin, HighPin::PullUp(button.pin)));
        let pump = self.drive.pump().filter(|pump| pump.toggling().is_some());
        let pump = pump.into_iter();
        let pump = pump.map(|pump| (pump.pins[0].pin, HighPin::Pump(pump.pins[0].pin)));
        let channels = self.drive.channels().iter().enumerate();
        let low = channels
            .filter(|(_, channel)| channel.active == Active::Low)
            .map(|(index, channel)| (channel.pin, HighPin::Dark(index)));
        let contacts = project.contacts.iter().zip(&self.contacts).enumerate();
        let contacts = contacts
            .filter(|(_, (contact, _))| contact.to == ButtonTo::Ground)
            .map(|(index, (_, planned))| (planned.pin, HighPin::ContactPullUp(index)));
        let selector = project.selector.iter().zip(&self.selector);
        let selector = selector
            .filter(|(selector, _)| selector.to == ButtonTo::Ground)
            .map(|(_, planned)| (planned.pin, HighPin::SelectorPullUp));
        let inputs = button.chain(contacts).chain(selector);
        let mut bits: Vec<(Pin, HighPin)> = inputs.chain(pump).chain(low).collect();
        bits.sort_by_key(|(pin, _)| pin.port);
        let ports = bits.chunk_by(|a, b| a.0.port == b.0.port);
        ports.map(|bits| self.latch(bits)).collect()
    }

    /// Of one port.
    fn latch(&self, bits: &[(Pin, HighPin)]) -> Latch {
        let port = bits[0].0;
        let unused = self.unused_pins().filter(|pin| pin.port == port.port);
        let unused = unused.fold(0, |mask, pin| mask | pin.mask());
        let mut reasons: Vec<HighPin> = bits.iter().map(|(_, why)| *why).collect();
        reasons.extend((unused > 0).then_some(HighPin::Unused));
        Latch {
            register: Target::of(self.chip).pin(port).port,
            value: bits.iter().fold(unused, |mask, (pin, _)| mask | pin.mask()),
            reasons,
        }
    }
}
