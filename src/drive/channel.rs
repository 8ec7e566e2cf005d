//! A channel's pin, and the way to it.

use crate::chip::Pin;
use crate::spec::{Active, Channel};

/// A channel's pin.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelPlan {
    pub pin: Pin,
    pub active: Active,
    /// It is on or off, and nothing between.
    pub plain: bool,
    pub way: Way,
}

/// How a channel's duty comes to its pin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// By a timer, as this output of it, `OC0A`.
    Output(&'static str),
    /// As a bit of what an interrupt writes to the pin's port.
    Planes,
    /// The player sets and clears the pin itself, which is plain.
    Latch,
}

impl ChannelPlan {
    pub(super) fn new(pin: Pin, channel: &Channel, way: Way) -> Self {
        Self {
            pin,
            active: channel.active.value,
            plain: channel.is_plain(),
            way,
        }
    }

    /// By what it is driven, in a word.
    pub fn driven_by(&self) -> &'static str {
        match self.way {
            _ if self.plain => "plain",
            Way::Output(output) => output,
            Way::Planes | Way::Latch => "port",
        }
    }
}
