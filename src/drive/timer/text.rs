//! What the drive's own templates say, and what its interrupt takes, counted in its text.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::{Keeper, PumpPlan, Shelter, TimerDrive, WORK};
use crate::assembly::{Listing, Rounds};
use crate::drive::text::{PwmText, RegisterName, RegisterNames, shelter};
use crate::drive::{Cost, ENTRY};
use crate::target::{CORE, CoreRegisters};
use crate::template::{environment, rendered};
use crate::units::Cycles;

/// The interrupt, and the label with which it begins.
pub(super) const HANDLER: &str = "drive/timer/handler.S";
pub(super) const LABEL: &str = "pwm";

/// By name: the interrupt, and what makes outputs dark before there is light.
pub const TEMPLATES: [(&str, &str); 3] = [
    (
        "drive/timer/about.S",
        include_str!("../../../templates/avr/drive/timer/about.S.j2").trim_ascii_end(),
    ),
    (
        HANDLER,
        include_str!("../../../templates/avr/drive/timer/handler.S.j2").trim_ascii_end(),
    ),
    (
        "drive/timer/dark.S",
        include_str!("../../../templates/avr/drive/timer/dark.S.j2").trim_ascii_end(),
    ),
];

static ENVIRONMENT: LazyLock<Environment<'static>> = LazyLock::new(|| environment(&TEMPLATES));

/// The drive in words and numbers.
#[derive(Debug, Serialize)]
pub struct Text {
    /// The folder of its templates.
    drive: &'static str,
    /// It is not of a port.
    port: Option<()>,
    core: CoreRegisters,
    channels: Vec<Channel>,
    /// Lamps are registers, not memory.
    in_registers: bool,
    shelter: Option<Shelter>,
    registers: RegisterNames,
    dither: bool,
    /// Bits of the fraction that count.
    mask: u8,
    pwm: PwmText,
    pump: Option<Pump>,
}

#[derive(Debug, Serialize)]
struct Channel {
    name: String,
    pin: String,
    output: &'static str,
    compare: &'static str,
    store: &'static str,
    /// Register names, or offsets into the lamps.
    lead: String,
    rest: String,
}

#[derive(Debug, Serialize)]
struct Pump {
    every: u8,
    by_xor: bool,
    port: String,
    mask: u8,
    toggle: &'static str,
    store: &'static str,
}

impl Text {
    /// With the names of its channels.
    pub fn new<'a>(
        drive: &TimerDrive,
        names: impl Iterator<Item = &'a str>,
        keeper: Keeper,
    ) -> Self {
        let pwm = &drive.pwm;
        Self {
            drive: "timer",
            port: None,
            core: CORE,
            channels: channels(drive, names, keeper),
            in_registers: keeper == Keeper::Registers && drive.registers.lamps.is_some(),
            shelter: shelter(keeper),
            registers: register_names(drive),
            dither: drive.dither.extra_bits > 0,
            mask: drive.dither.mask(),
            pwm: PwmText {
                counts: pwm.cycles().0,
                phases: drive.dither.phases(),
                bits: 8 + drive.dither.extra_bits,
                slowest: pwm.slowest.to_string(),
            },
            pump: drive.pump.as_ref().map(pump),
        }
    }
}

impl TimerDrive {
    /// Without knowing what its channels are called.
    pub fn nameless(&self) -> Text {
        Text::new(self, std::iter::repeat(""), Keeper::Registers)
    }

    /// What the interrupt takes, by who keeps what it needs; its code alone, and the time with a jump to it.
    pub fn counted(&self, keeper: Keeper) -> Cost {
        let nameless = Text::new(self, std::iter::repeat(""), keeper);
        let text = rendered(&ENVIRONMENT, HANDLER, &nameless);
        let listing = Listing::read(&text);
        let once = |_: &str| Rounds {
            group: "none",
            most: 1,
        };
        let jump = self.apart.unwrap_or(Cycles(0));
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
) -> Vec<Channel> {
    let owned = keeper == Keeper::Registers;
    let lamps = drive.registers.lamps.as_ref().filter(|_| owned);
    let places = (0..drive.outputs.len()).map(|i| match lamps {
        Some(lamps) => (format!("r{}", lamps[i].lead), format!("r{}", lamps[i].rest)),
        None => ((2 * i).to_string(), (2 * i + 1).to_string()),
    });
    let channels = drive.outputs.iter().zip(names).zip(places);
    channels
        .map(|((channel, name), (lead, rest))| Channel {
            name: name.to_string(),
            pin: channel.pin.to_string(),
            output: channel.output,
            compare: channel.compare,
            store: channel.reach.store(),
            lead,
            rest,
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

fn pump(pump: &PumpPlan) -> Pump {
    Pump {
        every: pump.every,
        by_xor: pump.toggle.by_xor,
        port: pump.pins[0].port.clone(),
        mask: pump.mask,
        toggle: pump.toggle.register,
        store: pump.toggle.reach.store(),
    }
}
