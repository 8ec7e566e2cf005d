//! What the drive's own templates say, and what its interrupt takes, counted in its text.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::{Keeper, TimerDrive, WORK};
use crate::assembly::{Listing, Rounds};
use crate::drive::pump::{PumpBy, PumpPlan};
use crate::drive::text::{
    ChannelText, OutputText, PwmText, RegisterName, RegisterNames, Text, shelter,
};
use crate::drive::{Cost, ENTRY, Way};
use crate::target::CORE;
use crate::template::{environment, rendered};
use crate::units::Cycles;

/// The interrupt, and the label with which it begins.
pub(super) const HANDLER: &str = "drive/timer/handler.S";
pub(super) const LABEL: &str = "pwm";

/// By name: the interrupt, and what makes outputs dark before there is light.
pub const TEMPLATES: [(&str, &str); 3] = [
    template!("drive/timer/about.S"),
    template!("drive/timer/handler.S"),
    template!("drive/timer/dark.S"),
];

static ENVIRONMENT: LazyLock<Environment<'static>> = LazyLock::new(|| environment(&TEMPLATES));

/// A pump that the interrupt clocks.
#[derive(Debug, Serialize)]
pub struct PumpText {
    every: u8,
    by_xor: bool,
    port: String,
    mask: u8,
    toggle: &'static str,
    store: &'static str,
    /// Its interrupt is its own.
    own: bool,
    /// Its pins are written with the light's.
    within: bool,
}

impl TimerDrive {
    /// With the names of its channels.
    pub(in crate::drive) fn text<'a>(
        &self,
        names: impl Iterator<Item = &'a str>,
        keeper: Keeper,
    ) -> Text {
        Text {
            drive: "timer",
            core: CORE,
            channels: channels(self, names, keeper),
            lamps: self.outputs.len(),
            in_registers: keeper == Keeper::Registers && self.registers.lamps.is_some(),
            shelter: shelter(keeper),
            registers: register_names(self),
            dither: self.dither.extra_bits > 0,
            mask: self.dither.mask(),
            pwm: PwmText {
                counts: self.common.pwm.cycles().0,
                phases: self.dither.phases(),
                bits: self.common.pwm.bits(),
                slowest: self.common.pwm.slowest.to_string(),
            },
            pump: self.common.pump.as_ref().and_then(pump_text),
            port: None,
        }
    }

    /// What the interrupt takes, by who keeps what it needs; its code alone, and the time with a jump to it.
    pub fn counted(&self, keeper: Keeper) -> Cost {
        let nameless = self.text(std::iter::repeat(""), keeper);
        let text = rendered(&ENVIRONMENT, HANDLER, &nameless);
        let listing = Listing::read(&text);
        let once = |_: &str| Rounds {
            group: "none",
            most: 1,
        };
        let jump = self.common.apart().unwrap_or(Cycles(0));
        let longest = Cycles(ENTRY.0 + jump.0 + listing.longest(LABEL, &once).0);
        Cost {
            size: listing.size(),
            longest,
            times: 1,
            busy: longest,
        }
    }
}

fn channels<'a>(
    drive: &TimerDrive,
    names: impl Iterator<Item = &'a str>,
    keeper: Keeper,
) -> Vec<ChannelText> {
    let owned = keeper == Keeper::Registers;
    let lamps = drive.registers.lamps.as_ref().filter(|_| owned);
    let place = |i: usize| match lamps {
        Some(lamps) => (format!("r{}", lamps[i].lead), format!("r{}", lamps[i].rest)),
        None => ((2 * i).to_string(), (2 * i + 1).to_string()),
    };
    let outputs = drive.outputs.iter().enumerate();
    let mut outputs = outputs.map(|(i, output)| {
        let (lead, rest) = place(i);
        OutputText {
            name: output.output,
            compare: output.compare,
            store: output.reach.store(),
            lead,
            rest,
        }
    });
    let channels = drive.common.channels.iter().zip(names).enumerate();
    channels
        .map(|(index, (plan, name))| ChannelText {
            output: matches!(plan.way, Way::Output(_))
                .then(|| outputs.next())
                .flatten(),
            ..ChannelText::new(index, plan, name, keeper)
        })
        .collect()
}

fn register_names(drive: &TimerDrive) -> RegisterNames {
    let registers = &drive.registers;
    let (first, last) = registers.range();
    let named = [
        ("OVERFLOWS", Some(registers.overflows)),
        ("FLAGS", Some(registers.flags)),
        ("PUMP", registers.pump),
    ];
    let names = named.into_iter().filter_map(|(name, number)| {
        Some(RegisterName {
            name: name.to_string(),
            number: number?,
        })
    });
    RegisterNames {
        first,
        last,
        work: Some(WORK),
        fixed: (first..=last).chain([WORK]).collect(),
        names: names.collect(),
        overflows: registers.overflows,
    }
}

pub(in crate::drive) fn pump_text(pump: &PumpPlan) -> Option<PumpText> {
    let by = pump.toggling()?;
    Some(PumpText {
        every: by.every,
        by_xor: by.toggle.by_xor,
        port: pump.pins[0].port.clone(),
        mask: by.mask,
        toggle: by.toggle.register,
        store: by.toggle.reach.store(),
        own: matches!(pump.by, PumpBy::Spare(_)),
        within: by.within,
    })
}
