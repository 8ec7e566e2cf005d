//! The chip, its registers and clock, and what is set up on it.

use serde::Serialize;

use super::fuses::{Fuses, fuses};
use super::pins::{Channel, Direction, Port, channels, directions, ports};
use super::write::{StartTimers, Timer, Write, refreshed, start_timers, store, timers};
use crate::design::Design;
use crate::firmware::{self, Registers, WORK};
use crate::plan::PumpPlan;

#[derive(Debug, Serialize)]
pub(super) struct Hardware {
    chip: Chip,
    channels: Vec<Channel>,
    /// Lamps are registers, not memory.
    in_registers: bool,
    registers: RegisterNames,
    dither: bool,
    /// Outputs may be turned on before the first light is at the pins.
    dark_first: bool,
    /// The start-up has room before the interrupt's vector.
    start_in_gap: bool,
    pwm: Pwm,
    pump: Option<Pump>,
    /// `rjmp` or `jmp`.
    jump: &'static str,
    vector_size: u32,
    interrupt: &'static str,
    interrupt_enable: Write,
    /// Interrupts that are kept out.
    other_interrupts: Vec<Write>,
    comparator: Write,
    /// Written again at each tick.
    refreshed: Vec<Write>,
    /// The stack pointer has a high byte; addresses in memory do.
    stack_high: bool,
    has_mul: bool,
    /// Bits of the fraction that count.
    mask: u8,
    clock: Clock,
    watchdog: Option<Watchdog>,
    ports: Vec<Port>,
    directions: Vec<Direction>,
    timers: Vec<Timer>,
    start_timers: StartTimers,
    sleep: Sleep,
    fuses: Fuses,
}

#[derive(Debug, Serialize)]
struct Chip {
    title: &'static str,
    mcu: &'static str,
    avrdude: &'static str,
    /// Bytes of it.
    eeprom: u32,
}

#[derive(Debug, Serialize)]
struct RegisterNames {
    first: u8,
    last: u8,
    fixed: Vec<u8>,
    names: Vec<RegisterName>,
    overflows: u8,
}

#[derive(Debug, Serialize)]
struct RegisterName {
    name: &'static str,
    number: u8,
}

#[derive(Debug, Serialize)]
struct Pwm {
    counts: u32,
    phases: u16,
    stride: u8,
    bits: u8,
    slowest: String,
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

#[derive(Debug, Serialize)]
struct Clock {
    prescaler_bits: Option<u8>,
    text: String,
    /// Which of the factory's calibrations it wants, counted from 1, and for which frequency. `None`:
    /// reset loads the right one.
    calibration: Option<(u8, String)>,
}

#[derive(Debug, Serialize)]
struct Watchdog {
    register: &'static str,
    change_enable: &'static str,
    enable: &'static str,
    bits: Vec<&'static str>,
    time: String,
}

#[derive(Debug, Serialize)]
struct Sleep {
    register: &'static str,
    enable: &'static str,
}

impl Hardware {
    pub(super) fn new(design: &Design, firmware: bool) -> Self {
        let plan = &design.plan;
        let chip = plan.chip;
        let registers = &design.firmware.registers;
        let last = u32::from(chip.ram.start) + chip.ram.size.0 - 1;
        let dither = design.firmware.dither;
        Self {
            chip: Chip {
                title: &chip.title,
                mcu: &chip.name,
                avrdude: &chip.avrdude,
                eeprom: chip.eeprom.size.0,
            },
            channels: channels(design),
            in_registers: firmware && registers.lamps.is_some(),
            registers: register_names(registers),
            dither: dither.extra_bits > 0,
            dark_first: design.firmware.dark_first,
            start_in_gap: firmware::starts_in_gap(plan, design.firmware.dark_first),
            pwm: Pwm {
                counts: plan.pwm.cycles().0,
                phases: dither.phases(),
                stride: dither.stride,
                bits: 8 + dither.extra_bits,
                slowest: plan.pwm.slowest.to_string(),
            },
            pump: plan.pump.as_ref().map(pump),
            jump: if chip.vectors.size.0 == 4 {
                "jmp "
            } else {
                "rjmp"
            },
            vector_size: chip.vectors.size.0,
            interrupt: plan.interrupt.vector,
            interrupt_enable: Write::new(&plan.interrupt.enable),
            other_interrupts: plan.interrupt.others.iter().map(Write::new).collect(),
            comparator: Write::new(&plan.comparator),
            refreshed: refreshed(plan),
            stack_high: last > 0xFF,
            has_mul: chip.multiplies(),
            mask: dither.mask,
            clock: Clock {
                prescaler_bits: plan.clock.prescaler_bits,
                text: match (plan.clock.frequency, plan.clock.oscillator) {
                    (clock, oscillator) if clock == oscillator => format!("{clock}, undivided"),
                    (clock, oscillator) => format!("{clock} of the oscillator's {oscillator}"),
                },
                calibration: plan
                    .clock
                    .uncalibrated
                    .map(|byte| (byte.byte + 1, plan.clock.oscillator.to_string())),
            },
            watchdog: plan.watchdog.as_ref().map(|watchdog| Watchdog {
                register: &chip.watchdog.register,
                change_enable: &chip.watchdog.change,
                enable: &chip.watchdog.enable,
                bits: watchdog.bits.clone(),
                time: watchdog.time.to_string(),
            }),
            ports: ports(design),
            directions: directions(plan),
            timers: timers(plan),
            start_timers: start_timers(plan),
            sleep: Sleep {
                register: &chip.sleep.register,
                enable: &chip.sleep.enable,
            },
            fuses: fuses(design),
        }
    }
}

fn register_names(registers: &Registers) -> RegisterNames {
    let (first, last) = registers.range();
    let named = [
        ("PHASE", registers.phase),
        ("OVERFLOWS", Some(registers.overflows)),
        ("FLAGS", Some(registers.flags)),
        ("PUMP", registers.pump),
    ];
    let names = named
        .into_iter()
        .filter_map(|(name, number)| {
            Some(RegisterName {
                name,
                number: number?,
            })
        })
        .collect();
    RegisterNames {
        first,
        last,
        fixed: (first..=last).chain([WORK]).collect(),
        names,
        overflows: registers.overflows,
    }
}

fn pump(pump: &PumpPlan) -> Pump {
    Pump {
        every: pump.every,
        by_xor: pump.by_xor,
        port: pump.pins[0].port.clone(),
        mask: pump.mask,
        toggle: pump.toggle,
        store: store(pump.reach),
    }
}
