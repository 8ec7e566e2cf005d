//! What chips on the bench have in common: the firmware, where to look in it, and the pins.

use super::Finger;
use crate::design::Design;
use crate::drive::timer::{Lamp, TimerDrive};
use crate::drive::{ChannelPlan, Drive};
use crate::spec::{Active, ButtonTo};
use crate::target::PortPin;
use crate::verify::machine::{Pin, Silicon};
use crate::verify::{Firmware, VerifyError};

/// What every chip on the bench has in common.
pub struct Setup<'a> {
    pub design: &'a Design,
    pub firmware: Firmware,
    pub(super) part: Silicon,
    pub(super) landmarks: Landmarks,
    pub(super) lamps: Lamps,
    pub outputs: Vec<ChannelPin>,
    button: Option<(Pin, ButtonTo)>,
    contacts: Vec<(Pin, ButtonTo)>,
    switch: Option<(Pin, ButtonTo)>,
}

/// Addresses in the firmware.
#[derive(Debug, Clone, Copy)]
pub(super) struct Landmarks {
    pub(super) light_tick: u32,
    pub(super) scene_start: u32,
    /// Where it goes off, and where it starts again.
    pub(super) stand_by: Option<u32>,
    pub(super) main: u32,
    pub(super) remembered: Option<u16>,
    /// What of memory a chip without a record takes its chance from: where channels will be kept.
    pub(super) chance: Option<u16>,
}

/// Where it is to be seen what the interrupt will put out.
#[derive(Debug, Clone)]
pub(super) enum Lamps {
    /// Channel by channel.
    Values(Vec<LampPlace>),
    /// In the planes of two buffers, of which one is to be shown next.
    Planes {
        planes: u16,
        /// Where the low byte of that buffer's address is.
        fresh: u16,
    },
}

/// Data addresses of what the interrupt puts out for a channel.
#[derive(Debug, Clone, Copy)]
pub(super) struct LampPlace {
    pub(super) lead: u16,
    pub(super) rest: u16,
}

/// A channel's pin.
#[derive(Debug, Clone, Copy)]
pub struct ChannelPin {
    pub pin: Pin,
    pub active: Active,
    /// A compare value of 0 lights it for a whole period.
    pub full_at_zero: bool,
}

impl<'a> Setup<'a> {
    pub fn new(design: &'a Design, firmware: Firmware) -> Result<Self, VerifyError> {
        let plan = &design.plan;
        let symbol = |name: &'static str| firmware.symbol(name).ok_or(VerifyError::NoSymbol(name));
        let plays = !design.firmware.state.fields.is_empty();
        let stands_by = design.firmware.rules.stands_by();
        let remembered = plays.then(|| symbol("remembered")).transpose()?;
        // In Rust, channels are kept with the state.
        let chance = firmware.symbol("tracks").or(remembered);
        let lamps = match &plan.drive {
            Drive::Timer(drive) => Lamps::Values(values(drive, &firmware)?),
            Drive::Port(drive) => Lamps::Planes {
                planes: symbol("planes")? as u16,
                fresh: match firmware.symbol("fresh") {
                    Some(address) => address as u16,
                    None => drive.registers().number("FRESH").into(),
                },
            },
        };
        let full_at_zero = |channel: usize| match &plan.drive {
            Drive::Timer(drive) => {
                let own = drive.outputs[channel].timer;
                let mut timers = drive.timers.iter();
                timers.any(|timer| timer.number == own && timer.full_at_zero)
            }
            Drive::Port(_) => false,
        };
        let output = |(index, channel): (usize, &ChannelPlan)| {
            Ok(ChannelPin {
                pin: channel.pin.to_string().parse()?,
                active: channel.active,
                full_at_zero: full_at_zero(index),
            })
        };
        Ok(Self {
            landmarks: Landmarks {
                light_tick: symbol("light_tick")?,
                scene_start: symbol("scene_start")?,
                stand_by: stands_by.then(|| symbol("stand_by")).transpose()?,
                main: symbol("main")?,
                remembered: remembered.map(|address| address as u16),
                chance: chance.map(|address| address as u16),
            },
            lamps,
            outputs: (plan.drive.channels().iter().enumerate())
                .map(output)
                .collect::<Result<_, VerifyError>>()?,
            button: plan
                .button
                .as_ref()
                .zip(design.project.button.as_ref())
                .map(|(planned, button)| in_machine(planned).map(|pin| (pin, button.to)))
                .transpose()?,
            switch: plan
                .selector
                .as_ref()
                .zip(design.project.selector.as_ref())
                .map(|(planned, selector)| in_machine(planned).map(|pin| (pin, selector.to)))
                .transpose()?,
            contacts: (plan.contacts.iter().zip(&design.project.contacts))
                .map(|(planned, contact)| Ok((in_machine(planned)?, contact.to)))
                .collect::<Result<_, VerifyError>>()?,
            part: Silicon::named(&plan.chip.name).map_err(|error| {
                VerifyError::Load(crate::verify::machine::LoadError::Silicon(error))
            })?,
            design,
            firmware,
        })
    }
}

impl Setup<'_> {
    /// The pin of a contact, and what it connects that to; `None`: there is no such contact.
    pub(super) fn finger(&self, what: Finger) -> Option<(Pin, ButtonTo)> {
        match what {
            Finger::Button => self.button,
            Finger::Switch => self.switch,
            Finger::Contact(at) => self.contacts.get(usize::from(at)).copied(),
        }
    }
}

fn in_machine(planned: &PortPin) -> Result<Pin, VerifyError> {
    Ok(planned.pin.to_string().parse()?)
}

/// Where the compare values of the timers' channels are.
fn values(drive: &TimerDrive, firmware: &Firmware) -> Result<Vec<LampPlace>, VerifyError> {
    let in_memory = firmware.symbol("lamps").map(|start| {
        (0..drive.channels.len() as u16)
            .map(|channel| LampPlace::in_memory(start as u16, channel))
            .collect()
    });
    let in_registers = || {
        let registers = drive.registers.lamps.as_ref()?;
        let place = |lamp: &Lamp| LampPlace {
            lead: lamp.lead.into(),
            rest: lamp.rest.into(),
        };
        Some(registers.iter().map(place).collect())
    };
    in_memory
        .or_else(in_registers)
        .ok_or(VerifyError::NoSymbol("lamps"))
}

impl LampPlace {
    fn in_memory(start: u16, channel: u16) -> Self {
        Self {
            lead: start + 2 * channel,
            rest: start + 2 * channel + 1,
        }
    }
}
