//! What the drive's own templates say, and what its interrupt takes, counted in its text.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::PortDrive;
use crate::assembly::{Listing, Rounds};
use crate::drive::text::{PwmText, RegisterName, RegisterNames, shelter};
use crate::drive::timer::{Keeper, Shelter};
use crate::drive::{Cost, ENTRY};
use crate::target::{CORE, CoreRegisters};
use crate::template::{environment, rendered};
use crate::units::{Bytes, Cycles};

/// The interrupt.
pub(super) const HANDLER: &str = "drive/port/handler.S";

macro_rules! template {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../../templates/avr/", $name, ".j2")).trim_ascii_end(),
        )
    };
}

/// By name: what the interrupt is, its code, what is set before it first comes, and the player's part.
pub const TEMPLATES: [(&str, &str); 7] = [
    template!("drive/port/about.S"),
    template!("drive/port/macros.S"),
    template!("drive/port/handler.S"),
    template!("drive/port/saving.S"),
    template!("drive/port/dark.S"),
    template!("drive/port/begin.S"),
    template!("drive/port/slice.S"),
];

static ENVIRONMENT: LazyLock<Environment<'static>> = LazyLock::new(|| environment(&TEMPLATES));

/// The registers that interrupt and player keep for themselves, by number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Registers {
    names: Vec<(String, u8)>,
}

/// The first register that the compiler can do without.
const FIRST: u8 = 2;

impl Registers {
    fn new(drive: &PortDrive) -> Self {
        // Two of these are pairs, and pairs begin at an even number.
        let mut names = vec![
            ("KEPT".to_string(), FIRST),
            ("PLANE".to_string(), FIRST + 2),
        ];
        let letters = drive.ports.iter().map(|port| port.letter);
        let by_port =
            letters.flat_map(|letter| ["NEXT", "LOW", "MID"].map(|name| format!("{name}{letter}")));
        let single = ["SLOT", "SHOWN", "FRESH", "FLAGS", "OVERFLOWS", "SPARE"].map(String::from);
        names.extend(by_port.chain(single).zip(FIRST + 4..));
        Self { names }
    }

    /// The number of one of them.
    ///
    /// # Panics
    /// If there is none of this name.
    pub fn number(&self, name: &str) -> u8 {
        let found = self.names.iter().find(|(own, _)| own == name);
        found.expect("the drive has this register").1
    }

    /// The last of them.
    pub fn last(&self) -> u8 {
        self.names.last().map_or(FIRST, |(_, number)| *number)
    }
}

/// A jump from the vector to the interrupt, at its longest (`jmp`).
const JUMP: Cycles = Cycles(3);
const JUMP_SIZE: Bytes = Bytes(4);

/// The drive in words and numbers.
#[derive(Debug, Serialize)]
pub struct Text {
    /// The folder of its templates.
    drive: &'static str,
    core: CoreRegisters,
    channels: Vec<Channel>,
    in_registers: bool,
    shelter: Option<Shelter>,
    dither: bool,
    pump: Option<()>,
    registers: RegisterNames,
    /// Bits of the fraction that count.
    mask: u8,
    pwm: PwmText,
    port: PortText,
}

#[derive(Debug, Serialize)]
struct Channel {
    name: String,
    pin: String,
    /// Its bit of its port's planes.
    bit: u8,
    /// By how much its planes end before those of the last port.
    before: u8,
}

#[derive(Debug, Serialize)]
struct PortText {
    ports: Vec<Latch>,
    /// What the timer compares with, and the counts of the first slot.
    compare: &'static str,
    first: u8,
    /// Planes by what they are shown in.
    lead: u8,
    tail: u8,
    next: u8,
    top: u8,
    /// Planes of a port, and bytes of a buffer.
    bits: u8,
    size: u8,
    slots: u32,
    /// What tells that the last slot has begun: a bit of what would come next, or the carry.
    beyond: Option<u32>,
    /// How the interrupt waits before the shortest planes: rounds of three cycles, and one cycle more.
    rounds: u8,
    odd: bool,
    /// Planes that the player fills between two looks at its count.
    unrolled: u8,
}

#[derive(Debug, Serialize)]
struct Latch {
    letter: char,
    register: String,
    /// What is put out in the dark.
    rest: u8,
    /// Where its planes are in a buffer.
    offset: u8,
}

impl Text {
    /// With the names of its channels.
    pub fn new<'a>(
        drive: &PortDrive,
        names: impl Iterator<Item = &'a str>,
        keeper: Keeper,
    ) -> Self {
        let planes = drive.planes;
        Self {
            drive: "port",
            core: CORE,
            channels: channels(drive, names),
            in_registers: false,
            shelter: shelter(keeper),
            dither: false,
            pump: None,
            registers: register_names(&drive.registers()),
            mask: planes.mask() as u8,
            pwm: PwmText {
                counts: planes.frame().0,
                phases: 1,
                bits: planes.bits,
                slowest: drive.pwm.slowest.to_string(),
            },
            port: port(drive),
        }
    }
}

impl PortDrive {
    pub fn registers(&self) -> Registers {
        Registers::new(self)
    }

    /// What the interrupt takes, by who keeps what it needs.
    pub fn counted(&self, keeper: Keeper) -> Cost {
        let nameless = Text::new(self, std::iter::repeat(""), keeper);
        let waits = u32::from(nameless.port.rounds);
        let listing = Listing::read(&rendered(&ENVIRONMENT, HANDLER, &nameless));
        let rounds = |_: &str| Rounds {
            group: "wait",
            most: waits,
        };
        let from = |label: &str| listing.longest(label, &rounds).0;
        // An interrupt that saves what it uses is too long for its place at the vector.
        let (entry, jump) = match keeper {
            Keeper::Shelter(_) => (ENTRY.0 + JUMP.0, JUMP_SIZE),
            Keeper::Registers | Keeper::Nobody => (ENTRY.0, Bytes(0)),
        };
        let first = entry + from("pwm");
        let last = entry + listing.longest_before("pwm", "burst", &rounds).0;
        // All others do not take the branch to where a new frame is taken up.
        let other = last - from("last") + from("taken") - 1;
        let times = self.planes.slots();
        Cost {
            size: Bytes(listing.size().0 + jump.0),
            longest: Cycles(first),
            times,
            busy: Cycles(first + last + other * (times - 2)),
        }
    }
}

fn channels<'a>(drive: &PortDrive, names: impl Iterator<Item = &'a str>) -> Vec<Channel> {
    let last = drive.ports.len() - 1;
    let channels = drive.channels.iter().zip(names);
    channels
        .map(|(channel, name)| Channel {
            name: name.to_string(),
            pin: channel.pin.to_string(),
            bit: channel.pin.mask(),
            before: (last - drive.port_of(channel.pin)) as u8 * drive.planes.bits,
        })
        .collect()
}

fn register_names(registers: &Registers) -> RegisterNames {
    let named = registers.names.iter();
    RegisterNames {
        first: FIRST,
        last: registers.last(),
        work: None,
        fixed: (FIRST..=registers.last()).collect(),
        names: named
            .map(|(name, number)| RegisterName {
                name: name.clone(),
                number: *number,
            })
            .collect(),
        overflows: registers.number("OVERFLOWS"),
    }
}

/// Planes that the player fills between two looks at its count.
pub(super) fn unrolled(planes: super::Planes) -> u8 {
    let fits = |by: &u8| planes.bits.is_multiple_of(*by);
    (1..=4).rev().find(fits).unwrap_or(1)
}

fn port(drive: &PortDrive) -> PortText {
    let planes = drive.planes;
    let latch = |(place, port): (usize, &super::PortPlan)| Latch {
        letter: port.letter,
        register: port.register.clone(),
        rest: port.rest,
        offset: place as u8 * planes.bits,
    };
    let [rounds, odd] = match planes.ports {
        1 => [5, 1],
        _ => [3, 0],
    };
    PortText {
        ports: drive.ports.iter().enumerate().map(latch).collect(),
        compare: drive.compare,
        first: super::slots::FIRST,
        lead: planes.lead(),
        tail: planes.tail(),
        next: planes.tail() + 1,
        top: planes.top(),
        bits: planes.bits,
        size: planes.bits * planes.ports,
        slots: planes.slots(),
        beyond: Some(planes.beyond()).filter(|bit| *bit < 8),
        rounds,
        odd: odd > 0,
        unrolled: unrolled(planes),
    }
}
