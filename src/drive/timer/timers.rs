//! What to write into the timers' registers, and in which order.

use std::collections::{BTreeMap, BTreeSet};

use super::text::LABEL;
use super::{Mode, OutputPlan, TimerDrive, Timing};
use crate::chip::{Bits, Chip, Event, Pin, Polarity, Reach, Timer};
use crate::drive::Handler;
use crate::target::Write;
use crate::units::Bytes;

/// A timer in use.
#[derive(Debug, Clone, PartialEq)]
pub struct TimerPlan {
    pub number: u8,
    /// A compare value of 0 lights an inverting output for all 256 counts, not for 255.
    pub full_at_zero: bool,
    /// Modes, outputs and TOP, in the order to write them; the rest comes with
    /// [`go`](StartPlan::go). Compare registers must hold 255 (dark) before: once a PWM mode is set
    /// they take effect only when the counter comes round.
    pub setup: Vec<Write>,
    /// The count it starts at, so that all timers come out in phase. Need not be written for a zero where
    /// there is one timer alone.
    pub preset: Write,
}

/// How the timers are set going, in this order: `reset`, if any, then all of `go`, one straight after
/// the other with the values already in registers and interrupts off. The outputs' pins are made
/// outputs afterwards; then nothing flashes. On the ATmega32U4 a divided timer 4 may be one count
/// behind the others.
#[derive(Debug, Clone, PartialEq)]
pub struct StartPlan {
    /// Resets the prescaler, so that all timers see the same next edge of it.
    pub reset: Option<Write>,
    /// Gives the timers their clock.
    pub go: Vec<Write>,
}

/// The timers that the channels are on, lowest number first.
pub(in crate::drive) fn used(chip: &'static Chip, channels: &[OutputPlan]) -> Vec<&'static Timer> {
    let is_used = |timer: &&Timer| channels.iter().any(|channel| channel.timer == timer.number);
    chip.timers.iter().filter(is_used).collect()
}

/// An interrupt of a timer, and those of other timers that are kept out; `text`: its template.
pub fn interrupt(
    chip: &'static Chip,
    event: &'static Event,
    text: &'static str,
) -> (Handler, Vec<Write>) {
    let [register, bit] = &event.enable;
    let masks: BTreeSet<&str> = chip
        .timers
        .iter()
        .map(|timer| timer.overflow.enable[0].as_str())
        .filter(|other| other != register)
        .collect();
    let handler = Handler {
        vector: &event.vector,
        number: event.number,
        enable: Write::bits(chip, register, &[bit]),
        text,
        label: LABEL,
        size: Bytes(0),
        apart: None,
    };
    let others = masks.into_iter();
    (
        handler,
        others.map(|mask| Write::number(chip, mask, 0)).collect(),
    )
}

/// Cuts the outputs on these pins off from all timers but those whose own set-up says what they are connected to.
pub(in crate::drive) fn disconnected(
    chip: &'static Chip,
    own: impl Iterator<Item = u8>,
    pins: &[Pin],
) -> Vec<Write> {
    let own: Vec<u8> = own.collect();
    let timers = chip.timers.iter();
    let others = timers.filter(|timer| !own.contains(&timer.number));
    let outputs = others.flat_map(|timer| &timer.outputs);
    let on_pins = outputs.filter(|output| pins.contains(&output.pin));
    let mut registers: Vec<&String> = on_pins.flat_map(|output| output.registers()).collect();
    registers.sort();
    registers.dedup();
    let off = |register: &&String| Write::number(chip, register, 0);
    registers.iter().map(off).collect()
}

/// Where the counters start when a string lights at low level: its pin is low, so lit, until the
/// counter first comes round, which this makes a matter of a few counts.
const NEARLY_ROUND: u8 = 240;

/// Set-up of each timer, and how they are started together.
///
/// Undivided, a timer counts from the moment its clock bits are written: each later one gets a preset
/// that makes up for the cycles it is late. Divided, the prescaler is reset first, and all timers are
/// started before its first edge (8 cycles later at the earliest).
pub(in crate::drive) fn set_up(
    chip: &'static Chip,
    used: &[&'static Timer],
    channels: &[OutputPlan],
    pwm: &Timing,
) -> (Vec<TimerPlan>, StartPlan) {
    let lit_at_first = channels
        .iter()
        .any(|channel| channel.polarity == Polarity::NonInverting);
    let mut preset = if lit_at_first { NEARLY_ROUND } else { 0 };
    let mut timers = Vec::new();
    let mut go = Vec::new();
    for (index, timer) in used.iter().enumerate() {
        let mut registers = registers(timer, channels, pwm.mode);
        let kept = registers
            .remove(timer.clock_register.as_str())
            .unwrap_or_default();
        let start = start(chip, timer, kept, pwm.prescaler);
        if index > 0 && pwm.prescaler == 1 {
            preset += cycles(start.reach);
        }
        let values = timer.values.iter();
        let mut setup: Vec<Write> = values
            .map(|(register, value)| Write::number(chip, register, *value))
            .collect();
        setup.extend(
            registers
                .iter()
                .map(|(register, bits)| Write::bits(chip, register, bits)),
        );
        timers.push(TimerPlan {
            number: timer.number,
            full_at_zero: timer.full_at_zero,
            setup,
            preset: Write::number(chip, &timer.counter, preset),
        });
        go.push(start);
    }
    let several = used.len() > 1 && pwm.prescaler > 1;
    let reset = several.then(|| prescaler_reset(chip, &timers)).flatten();
    (timers, StartPlan { reset, go })
}

impl TimerDrive {
    /// A register that is written anyway when the timers are set going, with nothing in it before.
    fn is_started(&self, write: &Write) -> bool {
        let mut go = self.common.start.go.iter();
        write.value == 0 && go.any(|go| go.register == write.register)
    }

    /// The timers, and what the set-up of each writes, but for what is written when it is set going.
    pub(in crate::drive) fn set_up(&self) -> Vec<(&TimerPlan, Vec<&Write>)> {
        let timers = self.timers.iter();
        timers
            .map(|timer| {
                let setup = timer.setup.iter();
                (
                    timer,
                    setup.filter(|write| !self.is_started(write)).collect(),
                )
            })
            .collect()
    }

    /// The counts that must be written before the timers are set going.
    pub(in crate::drive) fn presets(&self) -> impl Iterator<Item = &Write> {
        let several = self.timers.len() > 1;
        let presets = self.timers.iter().map(|timer| &timer.preset);
        presets.filter(move |preset| preset.value > 0 || several)
    }
}

/// Cycles by which a write comes after the one straight before it.
fn cycles(reach: Reach) -> u8 {
    match reach {
        Reach::Bit | Reach::Out => 1,
        Reach::Memory => 2,
    }
}

/// Mode and output bits of a timer by register, without its clock.
fn registers(
    timer: &'static Timer,
    channels: &[OutputPlan],
    mode: Mode,
) -> BTreeMap<&'static str, Vec<&'static str>> {
    let mode_bits = match mode {
        Mode::Fast => &timer.fast,
        Mode::PhaseCorrect => timer
            .phase_correct
            .as_ref()
            .expect("the mode was chosen among those that all can do"),
    };
    let mut registers = BTreeMap::new();
    add(&mut registers, mode_bits);
    for channel in channels
        .iter()
        .filter(|channel| channel.timer == timer.number)
    {
        let output = timer
            .outputs
            .iter()
            .find(|output| output.name == channel.output);
        add(
            &mut registers,
            output
                .expect("channels are on outputs")
                .bits(channel.polarity),
        );
    }
    registers
}

fn add(registers: &mut BTreeMap<&'static str, Vec<&'static str>>, bits: &'static Bits) {
    for (register, names) in bits {
        registers
            .entry(register)
            .or_default()
            .extend(names.iter().map(String::as_str));
    }
}

/// The write that gives a timer its clock, with its other bits in that register.
fn start(
    chip: &'static Chip,
    timer: &'static Timer,
    mut bits: Vec<&'static str>,
    prescaler: u16,
) -> Write {
    bits.extend(timer.prescalers[&prescaler].iter().map(String::as_str));
    Write::bits(chip, &timer.clock_register, &bits)
}

/// The write that resets the prescalers, keeping what the set-up wrote into the same register.
fn prescaler_reset(chip: &'static Chip, timers: &[TimerPlan]) -> Option<Write> {
    let (register, names) = chip.prescaler_reset.iter().flatten().next()?;
    let mut bits: Vec<&str> = names.iter().map(String::as_str).collect();
    let set_up = timers.iter().flat_map(|timer| &timer.setup);
    bits.extend(
        set_up
            .filter(|assign| assign.register == register)
            .flat_map(|assign| &assign.bits),
    );
    Some(Write::bits(chip, register, &bits))
}
