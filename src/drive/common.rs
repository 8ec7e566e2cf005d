//! What every drive has.

use super::timer::StartPlan;
use super::{ChannelPlan, Cost, Handler, PortPlan, PumpPlan, PwmPlan};
use crate::chip::Chip;
use crate::target::{PortMask, Write};
use crate::units::Cycles;

/// What every drive has.
#[derive(Debug, Clone, PartialEq)]
pub struct Common {
    /// By [`ChannelId`](crate::spec::ChannelId).
    pub channels: Vec<ChannelPlan>,
    /// The ports of which the player sets and clears plain pins.
    pub latched: Vec<PortPlan>,
    pub pwm: PwmPlan,
    /// How the timers are set going.
    pub start: StartPlan,
    pub pump: Option<PumpPlan>,
    /// Data direction bits of all pins that it drives, by port.
    pub directions: Vec<PortMask>,
    /// The interrupts that do its work, that of the light first.
    pub handlers: Vec<Handler>,
    /// Keep out interrupts of other timers, and cut their outputs off from channels' pins: a boot loader may have
    /// left them on.
    pub kept_out: Vec<Write>,
    /// What the interrupts take, in a firmware in C.
    pub cost: Cost,
}

impl Common {
    /// What the jump at the vector of the light's interrupt takes, if there is one.
    pub(super) fn apart(&self) -> Option<Cycles> {
        self.handlers[0].apart
    }

    /// What lets the interrupts through, each register once.
    pub(super) fn enables(&self) -> Vec<&Write> {
        let mut enables: Vec<&Write> = self.handlers.iter().map(|one| &one.enable).collect();
        enables.dedup_by_key(|enable| enable.register);
        enables
    }

    /// What keeps them out.
    pub(super) fn still(&self, chip: &'static Chip) -> Vec<Write> {
        let enables = self.enables().into_iter();
        enables
            .map(|enable| Write::number(chip, enable.register, 0))
            .collect()
    }
}
