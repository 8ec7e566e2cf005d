//! Ports as drives write them.

use std::collections::BTreeMap;

use super::{ChannelPlan, Way};
use crate::chip::{Chip, Pin};
use crate::target::{PortMask, Target, Write};

/// A port whose latch is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortPlan {
    pub letter: char,
    /// `PORTB`.
    pub register: String,
    /// Which of its bits are channels.
    pub mask: u8,
    /// What is put out in the dark: also what others have on this port.
    pub rest: u8,
}

impl PortPlan {
    /// All that is put out in the dark.
    pub(super) fn dark(&self, chip: &'static Chip) -> Write {
        Write::number(chip, &self.register, self.rest)
    }
}

/// The ports of the channels that go this way, and their bits.
pub(super) fn ports(target: Target, channels: &[ChannelPlan], way: Way) -> Vec<PortPlan> {
    let own = channels.iter().filter(|channel| channel.way == way);
    let masks = masks(own.map(|channel| channel.pin));
    let port = |(letter, mask)| PortPlan {
        letter,
        register: target.port(letter),
        mask,
        rest: 0,
    };
    masks.into_iter().map(port).collect()
}

/// The data direction bits of all that is driven, by port.
pub(super) fn directions(target: Target, pins: impl Iterator<Item = Pin>) -> Vec<PortMask> {
    let mask = |(port, mask)| PortMask {
        port,
        register: target.direction(port),
        mask,
    };
    masks(pins).into_iter().map(mask).collect()
}

fn masks(pins: impl Iterator<Item = Pin>) -> BTreeMap<char, u8> {
    let mut masks: BTreeMap<char, u8> = BTreeMap::new();
    for pin in pins {
        *masks.entry(pin.port).or_default() |= pin.mask();
    }
    masks
}
