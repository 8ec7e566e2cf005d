//! What the firmware needs to know of the chip: registers by number, and what the interrupt keeps
//! where.

use std::collections::BTreeSet;

use serde::Serialize;

use crate::chip::Reach;
use crate::design::Design;
use crate::drive::timer::{Keeper, Shelter};
use crate::drive::{Cost, Drive};
use crate::input::button::ButtonTicks;
use crate::plan::Plan;
use crate::units::{Bytes, Cycles};

#[derive(Debug, Serialize)]
pub(super) struct Chip {
    /// What interrupts take of a period.
    cycles: Cycles,
    shelter: Shelter,
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
    bits: Option<EepromBits>,
    /// Bytes of what is playing; how many of them lie before the generator.
    size: Bytes,
    before_generator: Bytes,
    /// How many are cleared at the start; 0: none.
    forgotten: Bytes,
    /// Bytes that are remembered.
    state: Option<Bytes>,
    /// What the assembly keeps in memory.
    variables: Bytes,
    /// Memory that Rust and the assembly share, by name.
    shared: bool,
    imports: String,
    /// Registers that button and contacts are read from.
    inputs: Vec<String>,
    /// Types of counters.
    count: &'static str,
    gap: &'static str,
    steps: &'static str,
    beat: &'static str,
}

#[derive(Debug, Serialize)]
struct Named {
    name: String,
    number: u16,
}

/// Bits of the EEPROM's control register.
#[derive(Debug, Serialize)]
struct EepromBits {
    read: u8,
    arm: u8,
    start: u8,
}

/// More than the deepest stack that the simulator has seen (42 bytes, with everything in it).
const STACK: Bytes = Bytes(48);

/// What the port's interrupt saves more than the timers'.
const SAVED: [u32; 2] = [4, 7];

fn stack(plan: &Plan) -> Bytes {
    let saved = plan.drive.planes().map(|(_, ports)| SAVED[ports.len() - 1]);
    Bytes(STACK.0 + saved.unwrap_or(0))
}

impl Chip {
    pub(super) fn new(design: &Design) -> Self {
        let plan = &design.plan;
        let chip = plan.chip;
        let shelter = Shelter::new(chip);
        let eeprom = plan.target().memory();
        let last = u32::from(chip.ram.start) + chip.ram.size.0 - 1;
        let [stack_low, stack_high, ..] = last.to_le_bytes();
        let memory = design.firmware.memory.as_ref();
        let inputs = inputs(design);
        let button = design.firmware.button;
        let state = &design.firmware.state;
        let (size, before_generator) = (state.size(), state.before_generator());
        let forgotten = match memory {
            Some(memory) if memory.choices => Bytes(0),
            _ if !design.firmware.rules.hops() && !design.firmware.rules.dims() => Bytes(0),
            Some(_) => before_generator,
            None => size,
        };
        let bytes = |wide: bool| if wide { "u16" } else { "u8" };
        let go = &plan.drive.start().go;
        let together = |stored: bool| {
            go.len() > 1 && go.iter().any(|go| (go.reach == Reach::Memory) == stored)
        };
        Self {
            cycles: interrupt(design).busy,
            flash: chip.flash,
            ram: chip.ram.size,
            stack: stack(plan),
            stack_low,
            stack_high,
            assembly: assembly(plan, shelter),
            registers: registers(design, shelter),
            reads: memory.is_some() || !inputs.is_empty() || shelter.overflows.is_some(),
            numbers: memory.is_some() || together(false),
            addresses: together(true),
            variables: variables(design, shelter),
            shelter,
            bits: memory.map(|_| EepromBits {
                read: bit(plan, eeprom.control, eeprom.read),
                arm: bit(plan, eeprom.control, eeprom.arm),
                start: bit(plan, eeprom.control, eeprom.start),
            }),
            size,
            before_generator,
            forgotten,
            state: memory.map(|memory| memory.state),
            shared: size.0 > 0 || design.firmware.dims() || design.firmware.measures(),
            imports: imports(design, forgotten),
            inputs,
            count: bytes(button.is_some_and(ButtonTicks::is_wide)),
            gap: bytes(button.is_some_and(ButtonTicks::has_wide_gap)),
            steps: bytes(memory.is_some_and(|memory| memory.saving.is_wide())),
            beat: bytes(design.firmware.beats.is_wide()),
        }
    }
}

/// What the interrupt of the firmware takes.
pub fn interrupt(design: &Design) -> Cost {
    let shelter = Shelter::new(design.plan.chip);
    design.plan.drive.counted(Keeper::Shelter(shelter))
}

/// Bytes of the assembly's variables.
fn variables(design: &Design, shelter: Shelter) -> Bytes {
    let firmware = &design.firmware;
    let channels = design.plan.drive.channels().len() as u32;
    let drive = &design.plan.drive;
    // All lamps are there, as no registers are left to them.
    let lamps = drive
        .timer()
        .map_or(0, |timer| 2 * timer.outputs.len() as u32);
    let planes = drive.planes().map_or(0, |(planes, _)| 2 * planes.bytes());
    let lamps = lamps + planes + drive.state().0;
    let single = u32::from(shelter.overflows.is_none());
    let tracks = firmware.track.size.0 * channels;
    Bytes(tracks + lamps + firmware.state.size().0 + single + firmware.in_assembly().0)
}

/// The registers that button and contacts are read from, each once.
fn inputs(design: &Design) -> Vec<String> {
    let plan = &design.plan;
    let button = plan
        .button
        .iter()
        .filter(|_| design.firmware.button.is_some());
    let pins = button.chain(&plan.contacts).chain(&plan.selector);
    let all: BTreeSet<String> = pins.map(|pin| pin.input.clone()).collect();
    all.into_iter().collect()
}

/// What shows and button need of the player, as rustfmt has it.
fn imports(design: &Design, forgotten: Bytes) -> String {
    let firmware = &design.firmware;
    let features = &firmware.features;
    let several = firmware.rules.hops() && design.deck.image.score.shows.len() > 1;
    let wanted = [
        ("CELLS", firmware.cells.is_some()),
        ("GAIN", firmware.has_gain()),
        ("MASTER", firmware.fade.is_some()),
        ("PACE", firmware.pacer().is_some()),
        ("PHASE", firmware.pacer().is_some()),
        (
            "REMEMBERED",
            firmware.rules.hops() || firmware.dimmer.is_some() || forgotten.0 > 0,
        ),
        ("SHOW_COUNT", several),
        ("WEAK", firmware.cells.is_some()),
        ("draw", features.draws),
        ("evening_begins", firmware.has_nights()),
        ("evening_tick", firmware.has_nights()),
        ("night", firmware.has_nights()),
        ("rest_for_good", firmware.cells.is_some()),
        ("scene_start", true),
        ("scenes_of", several),
        ("stand_by", firmware.rules.stands_by()),
    ];
    let there = wanted.into_iter().filter(|(_, there)| *there);
    let names: Vec<&str> = there.map(|(name, _)| name).collect();
    let all = names.join(", ");
    let room = LINE - "use crate::player::{};".len();
    if names.len() == 1 {
        all
    } else if all.len() <= room {
        format!("{{{all}}}")
    } else {
        // In a list it leaves the last column free.
        let options = textwrap::Options::new(LINE - 1)
            .initial_indent("    ")
            .subsequent_indent("    ");
        format!("{{\n{}\n}}", textwrap::fill(&format!("{all},"), options))
    }
}

/// The longest line that rustfmt writes.
const LINE: usize = 100;

fn assembly(plan: &Plan, shelter: Shelter) -> Vec<Named> {
    let mut names = vec!["SREG"];
    names.extend(shelter.used());
    let mut named: Vec<Named> = names
        .into_iter()
        .map(|name| Named {
            name: name.to_string(),
            number: core_number(plan, name),
        })
        .collect();
    let mut by_reach = |name: &str, reach: Reach| {
        if named.iter().any(|known| known.name == name) {
            return;
        }
        let address = address(plan, name);
        named.push(Named {
            name: name.to_string(),
            number: match reach {
                Reach::Memory => address,
                Reach::Bit | Reach::Out => address - 0x20,
            },
        });
    };
    for output in plan.drive.timer().iter().flat_map(|timer| &timer.outputs) {
        by_reach(output.compare, output.reach);
    }
    if let Drive::Port(drive) = &plan.drive {
        by_reach(drive.compare, Reach::Out);
    }
    let shown = plan.drive.planes().map_or(&[][..], |(_, ports)| ports);
    for port in shown.iter().chain(plan.drive.latched()) {
        by_reach(&port.register, Reach::Out);
    }
    if let Some(pump) = plan.drive.pump() {
        match pump.toggling().map(|by| by.toggle) {
            Some(toggle) if !toggle.by_xor => by_reach(toggle.register, toggle.reach),
            Some(_) => by_reach(&pump.pins[0].port, Reach::Out),
            None => {}
        }
    }
    if let Some(converter) = &plan.converter {
        by_reach(converter.result, converter.reach);
        for measure in &converter.measures {
            by_reach(measure.choose.register, measure.choose.reach);
        }
    }
    if let Some(power_down) = &plan.power_down {
        let off = plan.target().no_watchdog();
        let watchdog = [off.flags, off.off.write];
        let watchdog = watchdog.into_iter().filter(|_| plan.watchdog.is_some());
        let quiet = plan.quiet();
        let writes = quiet
            .iter()
            .chain(
                power_down
                    .button
                    .iter()
                    .flat_map(|button| &button.waking.allow),
            )
            .chain(&power_down.sleep);
        for write in watchdog.chain(writes.cloned()) {
            by_reach(write.register, write.reach);
        }
        if let Some(button) = &plan.button {
            by_reach(&button.input, Reach::Bit);
        }
    }
    named
}

/// Registers of the processor's core have the same number on all chips.
fn core_number(plan: &Plan, name: &str) -> u16 {
    match name {
        "SREG" => 0x3F,
        _ => address(plan, name) - 0x20,
    }
}

fn registers(design: &Design, shelter: Shelter) -> Vec<Named> {
    let plan = &design.plan;
    let target = plan.target();
    let mut names: Vec<&str> = Vec::new();
    names.extend(shelter.overflows);
    if design.firmware.memory.is_some() {
        let eeprom = target.memory();
        names.extend([eeprom.control, eeprom.data, eeprom.low]);
        names.extend(eeprom.high);
    }
    if let Some(bits) = plan.clock.prescaler_bits {
        names.push(target.divide_clock(bits).write.register);
    }
    if plan.clock.uncalibrated.is_some() {
        names.push(target.calibration());
    }
    let off = target.no_watchdog();
    if plan.watchdog.is_none() || design.firmware.starts_dark {
        names.push(off.flags.register);
    }
    names.extend([off.off.write.register, target.idle().register]);
    names.extend(plan.latches.iter().map(|latch| latch.register.as_str()));
    let directions = plan.drive.directions().iter();
    names.extend(directions.map(|port| port.register.as_str()));
    names.extend(
        plan.power_down
            .iter()
            .flat_map(|power_down| &power_down.button)
            .map(|button| button.waking.forbid.register),
    );
    names.extend(plan.inputs().map(|pin| pin.input.as_str()));
    names.extend(plan.written().map(|write| write.register));
    names.sort_unstable();
    names.dedup();
    let named = |name: &str| Named {
        name: name.to_string(),
        number: address(plan, name),
    };
    names.into_iter().map(named).collect()
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
