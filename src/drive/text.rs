//! What the templates of every drive are told in the same words.

use serde::Serialize;

use super::timer::{self, Keeper, Shelter};
use super::{ChannelPlan, ENTRY, Way, port};
use crate::spec::Active;
use crate::target::CoreRegisters;
use crate::units::{Bytes, Cycles};

/// By name: how the player treats plain channels.
pub const TEMPLATES: [(&str, &str); 1] = [template!("plain.S")];

/// A drive in words and numbers, as its templates want them.
#[derive(Debug, Serialize)]
pub struct Text {
    /// The folder of its templates.
    pub(super) drive: &'static str,
    pub(super) core: CoreRegisters,
    pub(super) channels: Vec<ChannelText>,
    /// Lamps, two bytes each, and whether they are registers, not memory.
    pub(super) lamps: usize,
    pub(super) in_registers: bool,
    pub(super) shelter: Option<Shelter>,
    pub(super) registers: RegisterNames,
    /// A period that leads has compare values of its own.
    pub(super) dither: bool,
    /// Bits of the fraction that count.
    pub(super) mask: u8,
    pub(super) pwm: PwmText,
    /// The pump that the interrupt clocks.
    pub(super) pump: Option<timer::PumpText>,
    /// What an interrupt writes to ports.
    pub(super) port: Option<port::PortText>,
}

/// Registers that the interrupt keeps from the compiler.
#[derive(Debug, Serialize)]
pub(super) struct RegisterNames {
    pub first: u8,
    pub last: u8,
    pub work: Option<u8>,
    pub fixed: Vec<u8>,
    pub names: Vec<RegisterName>,
    pub overflows: u8,
}

#[derive(Debug, Serialize)]
pub(super) struct RegisterName {
    pub name: String,
    pub number: u8,
}

/// The light, for comments and for counts.
#[derive(Debug, Serialize)]
pub(super) struct PwmText {
    pub counts: u32,
    pub phases: u16,
    pub bits: u8,
    pub slowest: String,
}

/// Where the interrupt's state is when the compiler may use all registers. `None`: it has its own.
pub(super) fn shelter(keeper: Keeper) -> Option<Shelter> {
    match keeper {
        Keeper::Shelter(shelter) => Some(shelter),
        Keeper::Registers | Keeper::Nobody => None,
    }
}

/// From an interrupt that writes ports to its first instruction, and what its code takes besides; `apart`: what the
/// jump at its vector takes.
pub(super) fn before(keeper: Keeper, apart: Option<Cycles>) -> (Cycles, Bytes) {
    match keeper {
        // One that saves what it uses is too long for its place at the vector: a jump, at its longest (`jmp`).
        Keeper::Shelter(_) => (Cycles(ENTRY.0 + 3), Bytes(4)),
        Keeper::Registers | Keeper::Nobody => {
            let jump = apart.unwrap_or(Cycles(0));
            (Cycles(ENTRY.0 + jump.0), Bytes(0))
        }
    }
}

/// A channel, as far as all drives have the same to say of it.
#[derive(Debug, Serialize)]
pub(super) struct ChannelText {
    pub name: String,
    pub pin: String,
    /// Which of all channels.
    pub index: usize,
    /// On or off.
    pub plain: bool,
    /// How the player itself sets its pin. `None`: it does not.
    pub latch: Option<LatchText>,
    /// Of a timer.
    pub output: Option<OutputText>,
    /// Of what is written to a port.
    pub plane: Option<PlaneText>,
}

/// A bit of a port, and the instructions that switch it.
#[derive(Debug, Serialize)]
pub(super) struct LatchText {
    register: String,
    bit: u8,
    on: &'static str,
    off: &'static str,
}

#[derive(Debug, Serialize)]
pub(super) struct OutputText {
    pub name: &'static str,
    pub compare: &'static str,
    pub store: &'static str,
    /// Register names, or offsets into the lamps.
    pub lead: String,
    pub rest: String,
}

#[derive(Debug, Serialize)]
pub(super) struct PlaneText {
    /// Its bit of its port's planes.
    pub bit: u8,
    /// By how much its planes end before those of the last port.
    pub before: u8,
}

impl ChannelText {
    /// Without what its drive knows of it. A program of the person's own puts out what it likes: there the player
    /// sets no pin.
    pub(super) fn new(index: usize, plan: &ChannelPlan, name: &str, keeper: Keeper) -> Self {
        let latched = plan.way == Way::Latch && keeper != Keeper::Nobody;
        let [on, off] = match plan.active {
            Active::High => ["sbi", "cbi"],
            Active::Low => ["cbi", "sbi"],
        };
        Self {
            name: name.to_string(),
            pin: plan.pin.to_string(),
            index,
            plain: plan.plain,
            latch: latched.then(|| LatchText {
                register: format!("PORT{}", plan.pin.port),
                bit: plan.pin.bit,
                on,
                off,
            }),
            output: None,
            plane: None,
        }
    }
}
