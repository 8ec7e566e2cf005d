//! What to write into the timers' registers, and in which order.

use std::collections::{BTreeMap, BTreeSet};

use super::{Assign, ChannelPlan, InterruptPlan, Mode, Plan, PwmPlan, StartPlan, TimerPlan};
use crate::chip::{Bits, Chip, Polarity, Reach, Timer};
use crate::units::Bytes;

/// The timers that the channels are on, lowest number first.
pub(super) fn used(chip: &'static Chip, channels: &[ChannelPlan]) -> Vec<&'static Timer> {
    let is_used = |timer: &&Timer| channels.iter().any(|channel| channel.timer == timer.number);
    chip.timers.iter().filter(is_used).collect()
}

/// The interrupt of a timer.
pub(super) fn interrupt(chip: &'static Chip, timer: &'static Timer) -> InterruptPlan {
    let [register, bit] = &timer.overflow.enable;
    let masks: BTreeSet<&str> = chip
        .timers
        .iter()
        .map(|timer| timer.overflow.enable[0].as_str())
        .filter(|other| other != register)
        .collect();
    let others = masks.into_iter();
    InterruptPlan {
        vector: &timer.overflow.vector,
        number: timer.overflow.number,
        enable: Assign::bits(chip, register, &[bit]),
        others: others.map(|mask| Assign::number(chip, mask, 0)).collect(),
    }
}

/// Where the counters start when a string lights at low level: its pin is low, so lit, until the
/// counter first comes round, which this makes a matter of a few counts.
const NEARLY_ROUND: u8 = 240;

/// Set-up of each timer, and how they are started together.
///
/// Undivided, a timer counts from the moment its clock bits are written: each later one gets a preset
/// that makes up for the cycles it is late. Divided, the prescaler is reset first, and all timers are
/// started before its first edge (8 cycles later at the earliest).
pub(super) fn set_up(
    chip: &'static Chip,
    used: &[&'static Timer],
    channels: &[ChannelPlan],
    pwm: &PwmPlan,
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
        let mut setup: Vec<Assign> = values
            .map(|(register, value)| Assign::number(chip, register, *value))
            .collect();
        setup.extend(
            registers
                .iter()
                .map(|(register, bits)| Assign::bits(chip, register, bits)),
        );
        timers.push(TimerPlan {
            number: timer.number,
            full_at_zero: timer.full_at_zero,
            setup,
            preset: Assign::number(chip, &timer.counter, preset),
        });
        go.push(start);
    }
    let several = used.len() > 1 && pwm.prescaler > 1;
    let reset = several.then(|| prescaler_reset(chip, &timers)).flatten();
    (timers, StartPlan { reset, go })
}

/// Chips with so much flash have room for what only disturbances call for.
const ROOMY: Bytes = Bytes(4096);

impl Plan {
    /// A register that is written anyway when the timers are set going, with nothing in it before.
    pub fn is_started(&self, assign: &Assign) -> bool {
        let mut go = self.start.go.iter();
        assign.value == 0 && go.any(|go| go.register == assign.register)
    }

    /// All that is written into the registers of timers, interrupts and comparator before the light begins.
    pub fn written(&self) -> impl Iterator<Item = &Assign> {
        self.lasting()
            .chain(self.presets())
            .chain(&self.start.reset)
            .chain(&self.start.go)
            .chain(&self.interrupt.others)
            .chain([&self.interrupt.enable, &self.comparator])
    }

    /// What of the timers is not written anyway when they are set going.
    fn lasting(&self) -> impl Iterator<Item = &Assign> {
        let setup = self.timers.iter().flat_map(|timer| &timer.setup);
        setup.filter(|assign| !self.is_started(assign))
    }

    /// What is written again at each tick, in case that a disturbance changes it: all that makes the
    /// timers run and their interrupt come. Nothing on chips where every byte counts.
    pub fn refreshed(&self) -> impl Iterator<Item = &Assign> {
        let all = self
            .lasting()
            .chain(&self.start.go)
            .chain([&self.interrupt.enable]);
        let roomy = self.chip.flash >= ROOMY;
        all.filter(move |assign| roomy && assign.lasts())
    }

    /// The counts that must be written before the timers are set going.
    pub fn presets(&self) -> impl Iterator<Item = &Assign> {
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
    channels: &[ChannelPlan],
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
) -> Assign {
    bits.extend(timer.prescalers[&prescaler].iter().map(String::as_str));
    Assign::bits(chip, &timer.clock_register, &bits)
}

/// The write that resets the prescalers, keeping what the set-up wrote into the same register.
fn prescaler_reset(chip: &'static Chip, timers: &[TimerPlan]) -> Option<Assign> {
    let (register, names) = chip.prescaler_reset.iter().flatten().next()?;
    let mut bits: Vec<&str> = names.iter().map(String::as_str).collect();
    let set_up = timers.iter().flat_map(|timer| &timer.setup);
    bits.extend(
        set_up
            .filter(|assign| assign.register == register)
            .flat_map(|assign| &assign.bits),
    );
    Some(Assign::bits(chip, register, &bits))
}
