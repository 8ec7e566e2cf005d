//! What the firmware needs to know of the chip: registers by number, and what the interrupt keeps
//! where.

use serde::Serialize;

use crate::chip::Reach;
use crate::design::Design;
use crate::firmware::ButtonTicks;
use crate::plan::Plan;
use crate::units::{Bytes, Cycles};

#[derive(Debug, Serialize)]
pub(super) struct Chip {
    /// Where the interrupt's vector is.
    vector: u32,
    cycles: Cycles,
    interrupt: Interrupt,
    flash: Bytes,
    ram: Bytes,
    /// What is left of the memory for the stack.
    stack: Bytes,
    stack_low: u8,
    stack_high: u8,
    /// Registers that the assembly names, by the number or address it takes.
    assembly: Vec<Named>,
    /// Registers that Rust names, by address.
    registers: Vec<Named>,
    /// Which ways of reaching a register occur.
    reads: bool,
    numbers: bool,
    addresses: bool,
    eeprom: Option<Eeprom>,
    /// Bytes that are remembered.
    state: Option<Bytes>,
    writes: Writes,
    /// How many bytes of memory a chip without a record takes its chance from.
    chance: u32,
    /// Types of counters.
    count: &'static str,
    gap: &'static str,
    steps: &'static str,
    beat: &'static str,
}

/// General purpose registers that stand in for memory; `None`: memory, or the stack.
#[derive(Debug, Serialize)]
struct Interrupt {
    phase: Option<&'static str>,
    overflows: Option<&'static str>,
    flags: Option<&'static str>,
    /// It needs a second register.
    second: bool,
}

#[derive(Debug, Serialize)]
struct Named {
    name: String,
    number: u16,
}

/// Bits of the EEPROM's control register.
#[derive(Debug, Serialize)]
struct Eeprom {
    read: u8,
    arm: u8,
    start: u8,
}

/// Values that have no name of their own in the plan.
#[derive(Debug, Serialize)]
struct Writes {
    sleep: u8,
    watchdog_change: u8,
    watchdog: u8,
    watchdog_register: &'static str,
    reset_flags: &'static str,
}

/// More than the deepest stack that the simulator has seen (42 bytes, with everything in it).
const STACK: Bytes = Bytes(48);

impl Chip {
    pub(super) fn new(design: &Design) -> Self {
        let plan = &design.plan;
        let chip = plan.chip;
        let interrupt = Interrupt::new(design);
        let last = u32::from(chip.ram.start) + chip.ram.size.0 - 1;
        let [stack_low, stack_high, ..] = last.to_le_bytes();
        let memory = design.firmware.memory.as_ref();
        let has_button = design.firmware.button.is_some();
        let button = design.firmware.button;
        let bytes = |wide: bool| if wide { "u16" } else { "u8" };
        let go = &plan.start.go;
        let together = |stored: bool| {
            go.len() > 1 && go.iter().any(|go| (go.reach == Reach::Memory) == stored)
        };
        Self {
            vector: u32::from(plan.interrupt.number) * chip.vectors.size.0,
            cycles: interrupt.cycles(plan),
            flash: chip.flash,
            ram: chip.ram.size,
            stack: STACK,
            stack_low,
            stack_high,
            assembly: assembly(plan, &interrupt),
            registers: registers(design, &interrupt),
            reads: memory.is_some() || has_button || interrupt.overflows.is_some(),
            numbers: memory.is_some() || together(false),
            addresses: together(true),
            interrupt,
            eeprom: memory.map(|_| Eeprom {
                read: bit(plan, "EECR", "EERE"),
                arm: bit(plan, "EECR", &chip.eeprom.arm),
                start: bit(plan, "EECR", &chip.eeprom.start),
            }),
            state: memory.map(|memory| memory.state),
            writes: writes(plan),
            chance: design.firmware.track.size.0 * plan.channels.len() as u32,
            count: bytes(button.is_some_and(ButtonTicks::is_wide)),
            gap: bytes(button.is_some_and(ButtonTicks::has_wide_gap)),
            steps: bytes(memory.is_some_and(|memory| memory.saving.is_wide())),
            beat: bytes(design.firmware.beats.is_wide()),
        }
    }
}

/// The interrupt from its entry to its return, at its longest.
pub fn interrupt_cycles(design: &Design) -> Cycles {
    Interrupt::new(design).cycles(&design.plan)
}

impl Interrupt {
    fn new(design: &Design) -> Self {
        let plan = &design.plan;
        let dither = plan.pwm.extra_bits > 0;
        let mut free = ["GPIOR0", "GPIOR1", "GPIOR2"].into_iter().filter(|name| {
            let register = plan.chip.register(name);
            register.is_some_and(|register| register.reach() != Reach::Memory)
        });
        Self {
            phase: if dither { free.next() } else { None },
            overflows: free.next(),
            flags: free.next(),
            second: dither || plan.pump.as_ref().is_some_and(|pump| pump.by_xor),
        }
    }

    fn used(&self) -> impl Iterator<Item = &'static str> {
        [self.phase, self.overflows, self.flags]
            .into_iter()
            .flatten()
    }

    /// From the interrupt to its end, as `pwm.s` is written, at its longest.
    fn cycles(&self, plan: &Plan) -> Cycles {
        const ENTRY_AND_RETURN: u32 = 8;
        let store = |reach| if reach == Reach::Memory { 2 } else { 1 };
        let kept = |register: Option<_>| if register.is_some() { 3 } else { 5 };
        let saved =
            4 + 2 + if self.flags.is_some() { 2 } else { 4 } + if self.second { 4 } else { 0 };
        let dither = plan.pwm.extra_bits > 0;
        let phase = if dither { kept(self.phase) } else { 0 };
        let load = if dither { 6 } else { 2 };
        let channels: u32 = plan
            .channels
            .iter()
            .map(|channel| load + store(channel.reach))
            .sum();
        let pump = plan.pump.as_ref().map_or(0, |pump| {
            let count = if self.overflows.is_some() { 1 } else { 2 };
            let slower = if pump.every > 1 { count + 2 } else { 0 };
            slower
                + if pump.by_xor {
                    4
                } else {
                    1 + store(pump.reach)
                }
        });
        Cycles(ENTRY_AND_RETURN + saved + phase + channels + pump + kept(self.overflows))
    }
}

fn assembly(plan: &Plan, interrupt: &Interrupt) -> Vec<Named> {
    let mut names = vec!["SREG", "SPL"];
    if u32::from(plan.chip.ram.start) + plan.chip.ram.size.0 > 0x100 {
        names.push("SPH");
    }
    names.extend(interrupt.used());
    let mut named: Vec<Named> = names
        .into_iter()
        .map(|name| Named {
            name: name.to_string(),
            number: core_number(plan, name),
        })
        .collect();
    let mut by_reach = |name: &str, reach: Reach| {
        let address = address(plan, name);
        named.push(Named {
            name: name.to_string(),
            number: match reach {
                Reach::Memory => address,
                Reach::Bit | Reach::Out => address - 0x20,
            },
        });
    };
    for channel in &plan.channels {
        by_reach(channel.compare, channel.reach);
    }
    if let Some(pump) = &plan.pump {
        if pump.by_xor {
            by_reach(&pump.pins[0].port, Reach::Out);
        } else {
            by_reach(pump.toggle, pump.reach);
        }
    }
    named
}

/// Registers of the processor's core have the same number on all chips.
fn core_number(plan: &Plan, name: &str) -> u16 {
    match name {
        "SREG" => 0x3F,
        "SPH" => 0x3E,
        "SPL" => 0x3D,
        _ => address(plan, name) - 0x20,
    }
}

fn registers(design: &Design, interrupt: &Interrupt) -> Vec<Named> {
    let plan = &design.plan;
    let chip = plan.chip;
    let mut names: Vec<&str> = Vec::new();
    names.extend(interrupt.overflows);
    if design.firmware.memory.is_some() {
        names.extend(["EECR", "EEDR", "EEARL"]);
        if chip.eeprom.size.0 > 256 {
            names.push("EEARH");
        }
    }
    if plan.clock.prescaler_bits.is_some() {
        names.push("CLKPR");
    }
    if plan.clock.uncalibrated.is_some() {
        names.push("OSCCAL");
    }
    if plan.watchdog.is_none() {
        names.push(&chip.watchdog.flags_register);
    }
    names.extend([
        chip.watchdog.register.as_str(),
        chip.sleep.register.as_str(),
    ]);
    let ports: Vec<String> = ports(design);
    names.extend(ports.iter().map(String::as_str));
    names.extend(plan.directions.iter().map(|port| port.register.as_str()));
    names.extend(plan.button.iter().map(|button| button.input.as_str()));
    names.extend(plan.written().map(|assign| assign.register));
    names.sort_unstable();
    names.dedup();
    let named = |name: &str| Named {
        name: name.to_string(),
        number: address(plan, name),
    };
    names.into_iter().map(named).collect()
}

/// Output latches that are set before the outputs are turned on.
fn ports(design: &Design) -> Vec<String> {
    let plan = &design.plan;
    let pulled_up = plan
        .button
        .iter()
        .filter(|_| !design.project.button_to_supply());
    let button = pulled_up.map(|button| button.port.clone());
    let pump = plan.pump.iter().map(|pump| pump.pins[0].port.clone());
    let low = plan
        .channels
        .iter()
        .filter(|channel| channel.active == crate::spec::Active::Low)
        .map(|channel| format!("PORT{}", channel.pin.port));
    button.chain(pump).chain(low).collect()
}

fn writes(plan: &Plan) -> Writes {
    let watchdog = &plan.chip.watchdog;
    let mask = |name: &str| 1_u8 << bit(plan, &watchdog.register, name);
    let enable = mask(&watchdog.enable);
    let time: u8 = plan
        .watchdog
        .iter()
        .flat_map(|watchdog| &watchdog.bits)
        .map(|name| mask(name))
        .sum();
    let sleep = &plan.chip.sleep;
    Writes {
        sleep: 1 << bit(plan, &sleep.register, &sleep.enable),
        watchdog_change: mask(&watchdog.change) | enable,
        watchdog: enable | time,
        watchdog_register: &watchdog.register,
        reset_flags: &watchdog.flags_register,
    }
}

fn address(plan: &Plan, name: &str) -> u16 {
    if name == "EEARH" {
        // The high byte of the pair, which the data has by its low one.
        return address(plan, "EEARL") + 1;
    }
    let register = plan.chip.register(name);
    register
        .unwrap_or_else(|| panic!("{name}, which a plan names, is in the chip's data"))
        .address
}

fn bit(plan: &Plan, register: &str, name: &str) -> u8 {
    plan.chip
        .register(register)
        .and_then(|register| register.bit(name))
        .expect("every bit that the firmware needs is in the chip's data")
}
