//! What the drive's own templates say, and what its interrupt takes, counted in its text.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::{Planes, PortDrive};
use crate::assembly::{Listing, Rounds};
use crate::drive::text::{
    ChannelText, PlaneText, PwmText, RegisterName, RegisterNames, Text, before, shelter,
};
use crate::drive::timer::{self, Keeper};
use crate::drive::{Cost, PortPlan, Way};
use crate::target::CORE;
use crate::template::{environment, rendered};
use crate::units::{Bytes, Cycles};

/// The interrupt.
pub(super) const HANDLER: &str = "drive/port/handler.S";

/// By name: what the interrupt is, its code, what is set before it first comes, and the player's part.
pub const TEMPLATES: [(&str, &str); 8] = [
    template!("drive/port/about.S"),
    template!("drive/port/macros.S"),
    template!("drive/port/handler.S"),
    template!("drive/port/pump.S"),
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
    /// Of each letter one for each of `NEXT`, `LOW` and `MID`; and single ones.
    pub(in crate::drive) fn new(letters: impl Iterator<Item = char>, single: &[&str]) -> Self {
        // Two of these are pairs, and pairs begin at an even number.
        let mut names = vec![
            ("KEPT".to_string(), FIRST),
            ("PLANE".to_string(), FIRST + 2),
        ];
        let by_port =
            letters.flat_map(|letter| ["NEXT", "LOW", "MID"].map(|name| format!("{name}{letter}")));
        let single = single.iter().map(|name| (*name).to_string());
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

/// What an interrupt writes to ports, and when.
#[derive(Debug, Serialize)]
pub struct PortText {
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
    /// Slots of a frame, and first slots that it is as long as.
    slots: u32,
    overflows: u32,
    /// What tells that the last slot has begun: a bit of what would come next, or the carry.
    beyond: Option<u32>,
    /// How the interrupt waits before the shortest planes: rounds of three cycles, and single ones.
    rounds: u8,
    odd: u8,
    /// How often the player goes through its loop for a channel, and bits of the last time that have no plane.
    rounds_of_slicing: u8,
    idle: u8,
    /// Two bytes a pin.
    wide: bool,
    /// A plane in which the pump's pins are the other way round.
    turned: Option<Turned>,
}

#[derive(Debug, Serialize)]
struct Turned {
    plane: u8,
    /// What is put out in the dark.
    rest: u8,
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

impl PortDrive {
    /// With the names of its channels.
    pub(in crate::drive) fn text<'a>(
        &self,
        names: impl Iterator<Item = &'a str>,
        keeper: Keeper,
    ) -> Text {
        let planes = self.planes;
        let rounds = ROUNDS[self.ports.len() - 1];
        Text {
            drive: "port",
            core: CORE,
            channels: channels(self, names, keeper),
            lamps: 0,
            in_registers: false,
            shelter: shelter(keeper),
            registers: register_names(&self.registers(), None),
            dither: false,
            mask: planes.mask() as u8,
            pwm: PwmText {
                counts: planes.frame().0,
                phases: 1,
                bits: planes.bits,
                slowest: self.common.pwm.slowest.to_string(),
            },
            pump: self.common.pump.as_ref().and_then(timer::pump_text),
            port: Some(PortText::new(planes, &self.ports, self.compare, rounds)),
        }
    }

    pub fn registers(&self) -> Registers {
        let letters = self.ports.iter().map(|port| port.letter);
        let mut single = vec!["SLOT", "SHOWN", "FRESH", "FLAGS", "OVERFLOWS", "SPARE"];
        single.extend((self.common.handlers.len() > 1).then_some("PUMP"));
        Registers::new(letters, &single)
    }

    /// What the interrupts take in a frame, by who keeps what they need.
    pub(in crate::drive) fn counted(&self, keeper: Keeper) -> Cost {
        let all = self.each(keeper);
        all.reduce(Cost::and).expect("one is of the light")
    }

    /// What each interrupt takes in a frame.
    pub(super) fn each(&self, keeper: Keeper) -> impl Iterator<Item = Cost> + use<> {
        let pump = self.pumping(keeper);
        [self.lighting(keeper)].into_iter().chain(pump)
    }

    /// What the pump's interrupt takes in a frame. `None`: it has none.
    pub(in crate::drive) fn pumping(&self, keeper: Keeper) -> Option<Cost> {
        let pump = self.pump.as_ref()?;
        let handler = pump.handler.as_ref()?;
        let nameless = self.text(std::iter::repeat(""), keeper);
        let listing = Listing::read(&rendered(&ENVIRONMENT, handler.text, &nameless));
        let once = |_: &str| Rounds {
            group: "none",
            most: 1,
        };
        let (Cycles(entry), jump) = before(keeper, self.common.handlers[1].apart);
        let longest = entry + listing.longest(handler.label, &once).0;
        let times = self.planes.frame().0.div_ceil(pump.pump.half.0);
        Some(Cost {
            size: Bytes(listing.size().0 + jump.0),
            longest: Cycles(longest),
            times,
            busy: Cycles(longest * times),
        })
    }

    /// What the light's interrupt takes in a frame.
    fn lighting(&self, keeper: Keeper) -> Cost {
        let nameless = self.text(std::iter::repeat(""), keeper);
        let [waits, _] = ROUNDS[self.ports.len() - 1];
        let listing = Listing::read(&rendered(&ENVIRONMENT, HANDLER, &nameless));
        let rounds = |_: &str| Rounds {
            group: "wait",
            most: waits.into(),
        };
        let from = |label: &str| listing.longest(label, &rounds).0;
        let (Cycles(entry), jump) = before(keeper, self.common.apart());
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

fn channels<'a>(
    drive: &PortDrive,
    names: impl Iterator<Item = &'a str>,
    keeper: Keeper,
) -> Vec<ChannelText> {
    let last = drive.ports.len() - 1;
    let place = |letter: char| drive.ports.iter().position(|port| port.letter == letter);
    let channels = drive.common.channels.iter().zip(names).enumerate();
    channels
        .map(|(index, (plan, name))| ChannelText {
            plane: (plan.way == Way::Planes).then(|| PlaneText {
                bit: plan.pin.mask(),
                before: (last - place(plan.pin.port).unwrap_or(0)) as u8 * drive.planes.bits,
            }),
            ..ChannelText::new(index, plan, name, keeper)
        })
        .collect()
}

/// `work`: what the interrupt works with besides.
pub(in crate::drive) fn register_names(registers: &Registers, work: Option<u8>) -> RegisterNames {
    let named = registers.names.iter();
    RegisterNames {
        first: FIRST,
        last: registers.last(),
        work,
        fixed: (FIRST..=registers.last()).chain(work).collect(),
        names: named
            .map(|(name, number)| RegisterName {
                name: name.clone(),
                number: *number,
            })
            .collect(),
        overflows: registers.number("OVERFLOWS"),
    }
}

/// How the interrupt waits before the shortest planes, with one port and with two: rounds of three cycles, and
/// single ones.
const ROUNDS: [[u8; 2]; 2] = [[5, 1], [3, 0]];

impl PortText {
    /// `compare`: the register in which the timer of the slots has their length, if there is one.
    pub(in crate::drive) fn new(
        planes: Planes,
        ports: &[PortPlan],
        compare: &'static str,
        [rounds, odd]: [u8; 2],
    ) -> Self {
        let latch = |(place, port): (usize, &PortPlan)| Latch {
            letter: port.letter,
            register: port.register.clone(),
            rest: port.rest,
            offset: place as u8 * planes.bits,
        };
        Self {
            ports: ports.iter().enumerate().map(latch).collect(),
            compare,
            first: super::slots::FIRST,
            lead: planes.lead(),
            tail: planes.tail(),
            next: planes.tail() + 1,
            top: planes.top(),
            bits: planes.bits,
            size: planes.bits * planes.ports,
            slots: planes.slots(),
            overflows: planes.overflows(),
            beyond: Some(planes.beyond()).filter(|bit| *bit < 8),
            rounds,
            odd,
            rounds_of_slicing: planes.rounds_of_slicing(),
            idle: planes.idle(),
            wide: planes.has_wide_pins(),
            turned: None,
        }
    }

    /// The second overflow of a frame shows these bits of the port the other way round.
    pub(in crate::drive) fn turn(&mut self, mask: u8) {
        self.turned = Some(Turned {
            plane: self.next,
            rest: self.ports[0].rest ^ mask,
        });
    }
}
