//! Any pins of one port or two, by bit-angle modulation: a timer's interrupt shows the bits of all codes one
//! after the other, each for as long as it weighs ([`Planes`]). A frame is shown whole, from one of two
//! buffers: the interrupt takes a new one only where a frame begins, and the player fills the other.

mod pins;
mod planes;
mod pwm;
mod slots;
mod text;

use std::collections::BTreeMap;

use super::timer::{Keeper, StartPlan, TimerPlan};
use super::{ChannelPlan, Cost, Handler, PwmPlan};
use crate::chip::{Chip, Pin, Timer};
use crate::diagnostic::{Diagnostic, Notes, Span};
use crate::spec::{Project, PwmMode};
use crate::target::{Claims, ClockPlan, PortMask, Target, Write};
use crate::units::Cycles;

pub use planes::{FIRST_SLOT, Planes};
pub use text::{Registers, TEMPLATES, Text};

/// Channels on pins of ports.
#[derive(Debug, Clone, PartialEq)]
pub struct PortDrive {
    /// By [`ChannelId`](crate::spec::ChannelId).
    pub channels: Vec<ChannelPlan>,
    /// Those whose latches are written, one of them or two.
    pub ports: Vec<PortPlan>,
    pub planes: Planes,
    /// The timer of the slots.
    pub timer: TimerPlan,
    pub start: StartPlan,
    /// The timer's register of how long a slot is.
    pub compare: &'static str,
    pub pwm: PwmPlan,
    pub directions: Vec<PortMask>,
    pub handler: Handler,
    /// Interrupts of other timers, and their outputs on channels' pins: a boot loader may have left them on.
    pub kept_out: Vec<Write>,
    /// Why it is not timers' outputs.
    pub why: String,
    pub cost: Cost,
}

/// A port whose latch is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortPlan {
    pub letter: char,
    /// `PORTB`.
    pub register: String,
    /// Which of its bits are channels.
    pub mask: u8,
    /// What is put out in the dark: also what others have on this port.
    pub rest: u8,
}

impl PortDrive {
    /// `why`: this drive, and no other. `None` after adding an error.
    pub(super) fn plan<'a>(
        target: Target,
        project: &'a Project,
        clock: Option<&ClockPlan>,
        claims: &mut Claims<'a>,
        why: String,
        notes: &mut Notes,
    ) -> Option<Self> {
        let chip = target.chip;
        if project.pwm.mode.value != PwmMode::Auto {
            notes.add(no_mode(project));
        }
        if let Some(pump) = &project.charge_pump {
            notes.add(no_pump(pump.span));
        }
        if let Some(standby) = &project.standby {
            notes.add(no_standby(standby.span));
        }
        let channels = pins::place(chip, project, claims, notes);
        let Some(slots) = slots::choose(chip, |_| true) else {
            notes.add(no_timer(chip, project));
            return None;
        };
        let (clock, channels) = clock.zip(channels)?;
        let ports = ports(target, &channels);
        let planes = pwm::choose(clock, ports.len() as u8, project, notes)?;
        let (timer, start) = slots.set_up(chip);
        let (handler, mut kept_out) = super::timer::interrupt(chip, slots.matched, text::HANDLER);
        kept_out.extend(disconnected(chip, slots.timer, &channels));
        let mut drive = Self {
            directions: directions(target, &ports),
            channels,
            ports,
            planes,
            timer,
            start,
            compare: slots.compare,
            pwm: pwm::plan(clock, planes),
            handler,
            kept_out,
            why,
            cost: Cost::default(),
        };
        drive.cost = drive.counted(Keeper::Registers);
        Some(drive)
    }

    /// What is written before the timer gets its clock.
    pub fn set_up(&self) -> impl Iterator<Item = &Write> {
        let go = self.start.go.iter().map(|go| go.register);
        let go: Vec<&str> = go.collect();
        let setup = self.timer.setup.iter();
        setup.filter(move |write| write.value > 0 || !go.contains(&write.register))
    }

    /// All that makes the timer run and its interrupt come, and may be written again. The length of a slot is
    /// the interrupt's.
    pub fn lasting(&self) -> impl Iterator<Item = &Write> {
        let setup = self.timer.setup.iter();
        let setup = setup.filter(|write| write.register != self.compare && !write.bits.is_empty());
        setup.chain(&self.start.go).chain([&self.handler.enable])
    }

    /// All that is written into the registers of timers and interrupts before the light begins.
    pub fn written(&self) -> impl Iterator<Item = &Write> {
        self.set_up()
            .chain(&self.start.go)
            .chain(&self.kept_out)
            .chain([&self.handler.enable])
    }

    /// How often the player goes through a loop in a tick.
    pub(super) fn rounds(&self, label: &str) -> Option<u32> {
        let planes = u32::from(self.planes.bits);
        match label {
            "slice" => {
                let rounds = planes / u32::from(text::unrolled(self.planes));
                Some(1 + self.channels.len() as u32 * (rounds - 1))
            }
            _ => label.starts_with("darken").then_some(planes),
        }
    }

    /// Bytes of memory that the interrupt needs where it owns no registers, besides the planes.
    pub fn state(&self) -> u32 {
        5 + u32::from(self.planes.ports)
    }

    /// The shortest time from one of its interrupts to the next.
    pub fn patience(&self) -> Cycles {
        Cycles(FIRST_SLOT)
    }

    /// `bit-angle on port B`.
    pub fn title(&self) -> String {
        let letters: Vec<String> = self
            .ports
            .iter()
            .map(|port| port.letter.to_string())
            .collect();
        let ports = if letters.len() == 1 { "port" } else { "ports" };
        format!("bit-angle on {ports} {}", letters.join(" and "))
    }

    /// What a port puts out in the dark, by the register of its latch.
    pub(super) fn rest(&mut self, register: &str, value: u8) {
        for port in self
            .ports
            .iter_mut()
            .filter(|port| port.register == register)
        {
            port.rest = value;
        }
    }

    /// Which of the ports a pin is of.
    pub fn port_of(&self, pin: Pin) -> usize {
        let port = self.ports.iter().position(|port| port.letter == pin.port);
        port.unwrap_or(0)
    }
}

/// Whether a chip has a timer for this drive.
pub(super) fn has_timer(chip: &'static Chip) -> bool {
    slots::choose(chip, |_| true).is_some()
}

/// The ports that channels are on, and their bits.
fn ports(target: Target, channels: &[ChannelPlan]) -> Vec<PortPlan> {
    let mut masks: BTreeMap<char, (Pin, u8)> = BTreeMap::new();
    for channel in channels {
        masks.entry(channel.pin.port).or_insert((channel.pin, 0)).1 |= channel.pin.mask();
    }
    let mask = |(letter, (pin, mask)): (char, (Pin, u8))| PortPlan {
        letter,
        register: target.pin(pin).port,
        mask,
        rest: 0,
    };
    masks.into_iter().map(mask).collect()
}

fn directions(target: Target, ports: &[PortPlan]) -> Vec<PortMask> {
    let direction = |port: &PortPlan| PortMask {
        port: port.letter,
        register: target.direction(port.letter),
        mask: port.mask,
    };
    ports.iter().map(direction).collect()
}

/// Other timers' outputs on channels' pins are cut off.
fn disconnected(chip: &'static Chip, own: &Timer, channels: &[ChannelPlan]) -> Vec<Write> {
    let others = chip
        .timers
        .iter()
        .filter(|timer| timer.number != own.number);
    let outputs = others.flat_map(|timer| &timer.outputs);
    let on_pins = outputs.filter(|output| channels.iter().any(|channel| channel.pin == output.pin));
    let mut registers: Vec<&String> = on_pins.flat_map(|output| output.registers()).collect();
    registers.sort();
    registers.dedup();
    let off = |register: &&String| Write::number(chip, register, 0);
    registers.iter().map(off).collect()
}

fn no_mode(project: &Project) -> Diagnostic {
    let message = "a `mode` is for PWM pins, and the channels are on pins of a port";
    Diagnostic::error("C023", project.pwm.mode.span, message)
        .label("expected no `mode`")
        .hint("leave it out, or use PWM pins alone")
}

fn no_pump(span: Span) -> Diagnostic {
    let message =
        "a charge pump wants the even interrupts of PWM pins, and the channels are on a port";
    Diagnostic::error("C033", span, message)
        .label("expected `pwm: {drive: timer}`")
        .hint("or do without the pump: strings that need more than the supply want another one")
}

fn no_standby(span: Span) -> Diagnostic {
    let message = "standby leaves the light to PWM pins, and the channels are on a port";
    Diagnostic::error("C034", span, message)
        .label("expected `pwm: {drive: timer}`")
        .hint("or do without `standby`: a show of one dark level comes near")
}

fn no_timer(chip: &Chip, project: &Project) -> Diagnostic {
    let message = format!("{} has no timer that could time a port's light", chip.title);
    let pins: Vec<String> = chip
        .outputs()
        .map(|(_, output)| output.pin.to_string())
        .collect();
    Diagnostic::error("C024", project.chip.span, message)
        .label("expected another chip, or channels on PWM pins")
        .hint(format!("it has PWM on {}", pins.join(", ")))
}
