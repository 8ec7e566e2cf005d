//! What chips on the bench have in common: the firmware, where to look in it, and the pins.

use super::Finger;
use crate::design::Design;
use crate::drive::{ChannelPlan, Drive, Way};
use crate::input::room::Divider;
use crate::plan::Plan;
use crate::spec::{Active, Battery, ButtonTo};
use crate::target::{Measured, PortPin, SupplyPlan};
use crate::units::Volts;
use crate::verify::machine::{LoadError, Pin, Silicon, SiliconError};
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
    pub(super) knob: Option<Pin>,
    pub(super) sensor: Option<(Pin, Divider)>,
    pub(super) supply: Option<SupplyPlan>,
}

/// Addresses in the firmware.
#[derive(Debug, Clone, Copy)]
pub(super) struct Landmarks {
    pub(super) light_tick: u32,
    pub(super) scene_start: u32,
    /// Where it goes off, and where it starts again.
    pub(super) stand_by: Option<u32>,
    /// Where it goes for good, as cells are spent.
    pub(super) out: Option<u32>,
    pub(super) main: u32,
    /// Where its evening is over, and where that is counted in memory.
    pub(super) night: Option<u32>,
    pub(super) evening: Option<u16>,
    pub(super) remembered: Option<u16>,
    /// What of memory a chip without a record takes its chance from: where channels will be kept.
    pub(super) chance: Option<u16>,
}

/// Where it is to be seen what the interrupt will put out.
#[derive(Debug, Clone)]
pub(super) struct Lamps {
    /// Channel by channel; `None`: it is no output of a timer.
    pub(super) values: Vec<Option<LampPlace>>,
    pub(super) planes: Option<PlanePlaces>,
}

/// Two buffers of planes, of which one is to be shown next.
#[derive(Debug, Clone, Copy)]
pub(super) struct PlanePlaces {
    pub(super) buffers: u16,
    /// Where the low byte of that one's address is.
    pub(super) fresh: u16,
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
    /// What full cells give.
    pub fn fresh_cells(&self) -> Volts {
        let battery = self.design.project.electrics.battery.as_ref();
        battery.map_or(Volts(5.0), Battery::start)
    }

    pub fn new(design: &'a Design, firmware: Firmware) -> Result<Self, VerifyError> {
        let plan = &design.plan;
        let symbol = |name: &'static str| firmware.symbol(name).ok_or(VerifyError::NoSymbol(name));
        let plays = !design.firmware.state.fields.is_empty();
        let nights = design.firmware.has_nights();
        let stands_by = design.firmware.rules.stands_by();
        let remembered = plays.then(|| symbol("remembered")).transpose()?;
        // In Rust, channels are kept with the state.
        let chance = firmware.symbol("tracks").or(remembered);
        let lamps = Lamps {
            values: values(&plan.drive, &firmware)?,
            planes: planes(&plan.drive, &firmware)?,
        };
        let full_at_zero = |way: Way| {
            let timer = plan.drive.timer();
            timer.is_some_and(|drive| drive.is_full_at_zero(way))
        };
        let output = |channel: &ChannelPlan| {
            Ok(ChannelPin {
                pin: channel.pin.to_string().parse()?,
                active: channel.active,
                full_at_zero: full_at_zero(channel.way),
            })
        };
        Ok(Self {
            landmarks: Landmarks {
                light_tick: symbol("light_tick")?,
                scene_start: symbol("scene_start")?,
                stand_by: stands_by.then(|| symbol("stand_by")).transpose()?,
                out: (design.firmware.cells)
                    .map(|_| symbol("rest_for_good"))
                    .transpose()?,
                main: symbol("main")?,
                night: nights.then(|| symbol("night")).transpose()?,
                evening: nights
                    .then(|| symbol("evening"))
                    .transpose()?
                    .map(|address| address as u16),
                remembered: remembered.map(|address| address as u16),
                chance: chance.map(|address| address as u16),
            },
            lamps,
            outputs: (plan.drive.channels().iter())
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
            knob: measured(plan, Measured::Knob)?,
            sensor: measured(plan, Measured::Room)?
                .zip(design.project.sensor.as_ref().map(Divider::new)),
            supply: plan.converter.as_ref().and_then(|one| one.supply),
            contacts: (plan.contacts.iter().zip(&design.project.contacts))
                .map(|(planned, contact)| Ok((in_machine(planned)?, contact.to)))
                .collect::<Result<_, VerifyError>>()?,
            part: part(plan)?,
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

/// The chip in the simulator, with all timers that the light uses.
fn part(plan: &Plan) -> Result<Silicon, VerifyError> {
    let unknown = |error| VerifyError::Load(LoadError::Silicon(error));
    let part = Silicon::named(&plan.chip.name).map_err(unknown)?;
    let used = plan.drive.set_up().into_iter();
    let mut numbers = used.map(|(timer, _)| timer.number);
    match numbers.find(|number| !part.has_timer(*number)) {
        Some(number) => Err(unknown(SiliconError::Timer {
            part: plan.chip.name.clone(),
            number,
        })),
        None => Ok(part),
    }
}

fn in_machine(planned: &PortPin) -> Result<Pin, VerifyError> {
    Ok(planned.pin.to_string().parse()?)
}

/// The pin at which something is measured.
fn measured(plan: &Plan, what: Measured) -> Result<Option<Pin>, VerifyError> {
    plan.measured_at(what).map(in_machine).transpose()
}

/// Where the compare values of the channels on timers are.
fn values(drive: &Drive, firmware: &Firmware) -> Result<Vec<Option<LampPlace>>, VerifyError> {
    let start = firmware.symbol("lamps");
    let in_registers = |lamp: u16| {
        let registers = drive.timer()?.registers.lamps.as_ref()?;
        let lamp = registers.get(usize::from(lamp))?;
        Some(LampPlace {
            lead: lamp.lead.into(),
            rest: lamp.rest.into(),
        })
    };
    let place = |lamp: u16| match start {
        Some(start) => Some(LampPlace::in_memory(start as u16, lamp)),
        None => in_registers(lamp),
    };
    let mut lamps = 0_u16..;
    let channels = drive.channels().iter();
    channels
        .map(|channel| match channel.way {
            Way::Output(_) => {
                let lamp = lamps.next().unwrap_or_default();
                place(lamp).ok_or(VerifyError::NoSymbol("lamps")).map(Some)
            }
            Way::Planes | Way::Latch => Ok(None),
        })
        .collect()
}

fn planes(drive: &Drive, firmware: &Firmware) -> Result<Option<PlanePlaces>, VerifyError> {
    let registers = match drive {
        Drive::Timer(_) => return Ok(None),
        Drive::Port(port) => port.registers(),
        Drive::Mixed(mixed) => mixed.registers(),
    };
    let buffers = firmware.symbol("planes");
    Ok(Some(PlanePlaces {
        buffers: buffers.ok_or(VerifyError::NoSymbol("planes"))? as u16,
        fresh: match firmware.symbol("fresh") {
            Some(address) => address as u16,
            None => registers.number("FRESH").into(),
        },
    }))
}

impl LampPlace {
    fn in_memory(start: u16, channel: u16) -> Self {
        Self {
            lead: start + 2 * channel,
            rest: start + 2 * channel + 1,
        }
    }
}
