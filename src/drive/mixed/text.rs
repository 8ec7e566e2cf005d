//! What the drive's own templates say, and what its interrupt takes, counted in its text.

use std::sync::LazyLock;

use minijinja::Environment;

use super::MixedDrive;
use crate::assembly::{Listing, Rounds};
use crate::chip::Reach;
use crate::drive::port::text::{PortText, register_names};
use crate::drive::text::{PlaneText, Text, before};
use crate::drive::timer::{Keeper, WORK};
use crate::drive::{Cost, PumpPlan, Way, port};
use crate::template::{environment, rendered};
use crate::units::{Bytes, Cycles};

/// The interrupt.
pub(super) const HANDLER: &str = "drive/mixed/handler.S";

/// By name: what the interrupt is, its code, and what is set before it first comes.
pub const TEMPLATES: [(&str, &str); 4] = [
    template!("drive/mixed/about.S"),
    template!("drive/mixed/handler.S"),
    template!("drive/mixed/saving.S"),
    template!("drive/mixed/dark.S"),
];

static ENVIRONMENT: LazyLock<Environment<'static>> =
    LazyLock::new(|| environment(&[&TEMPLATES[..], &port::TEMPLATES].concat()));

/// Cycles from the first write to that of the shortest plane.
const LEAD: u32 = 64;

/// What the interrupt does meanwhile besides waiting and putting out compare values: where it owns registers; and where
/// it saves them, counts overflows in a general purpose register, or in memory.
const OWNING: u32 = 17;
const SAVING: [u32; 2] = [36, 38];

/// And to change the pump's pins.
const PUMPING: u32 = 2;

impl MixedDrive {
    /// With the names of its channels.
    pub(in crate::drive) fn text<'a>(
        &self,
        names: impl Iterator<Item = &'a str>,
        keeper: Keeper,
    ) -> Text {
        let mut text = self.timer.text(names, keeper);
        let plans = self.timer.common.channels.iter();
        for (channel, plan) in text.channels.iter_mut().zip(plans) {
            channel.plane = (plan.way == Way::Planes).then(|| PlaneText {
                bit: plan.pin.mask(),
                before: 0,
            });
        }
        for (lamp, output) in text
            .channels
            .iter_mut()
            .filter_map(|one| one.output.as_mut())
            .enumerate()
        {
            (output.lead, output.rest) = ((2 * lamp).to_string(), (2 * lamp + 1).to_string());
        }
        let idle = self.idle(keeper);
        let rounds = [(idle / 3) as u8, (idle % 3) as u8];
        let mut port = PortText::new(self.planes, &self.ports, "", rounds);
        let toggling = self.timer.common.pump.as_ref().and_then(PumpPlan::toggling);
        if let Some(toggling) = toggling.filter(|toggling| toggling.within) {
            port.turn(toggling.mask);
        }
        Text {
            drive: "mixed",
            in_registers: false,
            registers: register_names(&self.registers(), Some(WORK)),
            port: Some(port),
            ..text
        }
    }

    /// For how many cycles it waits before the shortest planes.
    fn idle(&self, keeper: Keeper) -> u32 {
        let puts = self.timer.outputs.iter().map(|output| match output.reach {
            Reach::Memory => 4,
            Reach::Bit | Reach::Out => 3,
        });
        let work = match keeper {
            Keeper::Registers | Keeper::Nobody => OWNING,
            Keeper::Shelter(shelter) => SAVING[usize::from(shelter.overflows.is_none())],
        };
        let toggling = self.timer.common.pump.as_ref().and_then(PumpPlan::toggling);
        let pump = match toggling {
            Some(toggling) if !toggling.within => PUMPING,
            _ => 0,
        };
        LEAD - work - pump - puts.sum::<u32>()
    }

    /// What the interrupt takes, by who keeps what it needs: of a frame's overflows, the first shows the shortest
    /// planes, the last of each slot gets the next one's plane, and the others go on with it.
    pub(in crate::drive) fn counted(&self, keeper: Keeper) -> Cost {
        let nameless = self.text(std::iter::repeat(""), keeper);
        let listing = Listing::read(&rendered(&ENVIRONMENT, HANDLER, &nameless));
        let waits = self.idle(keeper) / 3;
        let rounds = |_: &str| Rounds {
            group: "wait",
            most: waits,
        };
        let (Cycles(entry), jump) = before(keeper, self.timer.common.apart());
        let first = entry + listing.longest("pwm", &rounds).0;
        let turn = entry + listing.longest_before("pwm", "burst", &rounds).0;
        let same = entry + listing.longest_before("pwm", "turn", &rounds).0;
        let (overflows, turns) = (self.planes.overflows(), self.planes.slots() - 1);
        let frame = first + turns * turn + (overflows - 1 - turns) * same;
        Cost {
            size: Bytes(listing.size().0 + jump.0),
            longest: Cycles(first),
            times: 1,
            busy: Cycles(frame.div_ceil(overflows)),
        }
    }
}
