//! Pins, timers, registers, clock, fuses.

use serde::Serialize;

use crate::chip::Reach;
use crate::design::Design;
use crate::firmware::Registers;
use crate::plan::{Assign, Plan, PumpPlan};
use crate::spec::Active;

#[derive(Debug, Serialize)]
pub struct Hardware {
    chip: Chip,
    channels: Vec<Channel>,
    /// Lamps are registers, not memory.
    in_registers: bool,
    registers: RegisterNames,
    dither: bool,
    pwm: Pwm,
    pump: Option<Pump>,
    /// `rjmp` or `jmp`.
    jump: &'static str,
    vector_size: u32,
    interrupt: &'static str,
    interrupt_enable: Write,
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
}

#[derive(Debug, Serialize)]
struct Channel {
    name: String,
    pin: String,
    output: &'static str,
    compare: &'static str,
    store: &'static str,
    /// Register names, or offsets into the lamps.
    part: String,
    base: String,
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
}

#[derive(Debug, Serialize)]
struct Watchdog {
    register: &'static str,
    change_enable: &'static str,
    enable: &'static str,
    bits: Vec<&'static str>,
    time: String,
}

/// A port's output latch before the outputs are turned on.
#[derive(Debug, Serialize)]
struct Port {
    register: String,
    value: u8,
    note: String,
}

#[derive(Debug, Serialize)]
struct Direction {
    register: String,
    mask: u8,
}

#[derive(Debug, Serialize)]
struct Timer {
    number: u8,
    setup: Vec<Write>,
}

/// A register and what is written into it.
#[derive(Debug, Serialize)]
struct Write {
    register: &'static str,
    value: u8,
    /// The names of the bits that are set; none where it is a plain number.
    bits: Vec<&'static str>,
    /// The value as C has it.
    text: String,
    store: &'static str,
    /// How inline assembly names the register.
    constraint: &'static str,
    address: &'static str,
}

#[derive(Debug, Serialize)]
struct StartTimers {
    reset: Option<Write>,
    presets: Vec<Write>,
    go: Vec<Write>,
}

#[derive(Debug, Serialize)]
struct Sleep {
    register: &'static str,
    enable: &'static str,
}

#[derive(Debug, Serialize)]
struct Fuses {
    heading: String,
    summary: String,
    bytes: Vec<Fuse>,
}

#[derive(Debug, Serialize)]
struct Fuse {
    name: &'static str,
    memory: &'static str,
    value: u8,
    reason: String,
}

impl Hardware {
    pub fn new(design: &Design, firmware: bool) -> Self {
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
            },
            channels: channels(design),
            in_registers: firmware && registers.lamps.is_some(),
            registers: register_names(registers),
            dither: dither.extra_bits > 0,
            pwm: Pwm {
                counts: u32::from(plan.pwm.period) * u32::from(plan.pwm.prescaler),
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
            stack_high: last > 0xFF,
            has_mul: chip.multiplies(),
            mask: dither.mask,
            clock: Clock {
                prescaler_bits: plan.clock.prescaler_bits,
                text: match (plan.clock.frequency, plan.clock.oscillator) {
                    (clock, oscillator) if clock == oscillator => format!("{clock}, undivided"),
                    (clock, oscillator) => format!("{clock} of the oscillator's {oscillator}"),
                },
            },
            watchdog: plan.watchdog.as_ref().map(|watchdog| Watchdog {
                register: &chip.watchdog.register,
                change_enable: &chip.watchdog.change,
                enable: &chip.watchdog.enable,
                bits: watchdog.bits.clone(),
                time: watchdog.time.to_string(),
            }),
            ports: ports(design),
            directions: plan
                .directions
                .iter()
                .map(|port| Direction {
                    register: port.register.clone(),
                    mask: port.mask,
                })
                .collect(),
            timers: plan
                .timers
                .iter()
                .map(|timer| Timer {
                    number: timer.number,
                    setup: timer
                        .setup
                        .iter()
                        .filter(|assign| !is_started(plan, assign))
                        .map(Write::new)
                        .collect(),
                })
                .collect(),
            start_timers: start_timers(plan),
            sleep: Sleep {
                register: &chip.sleep.register,
                enable: &chip.sleep.enable,
            },
            fuses: fuses(design),
        }
    }
}

/// A register that `start_timers` writes anyway, with nothing in it before.
fn is_started(plan: &Plan, assign: &Assign) -> bool {
    assign.value == 0
        && plan
            .start
            .go
            .iter()
            .any(|go| go.register == assign.register)
}

fn channels(design: &Design) -> Vec<Channel> {
    let lamps = design.firmware.registers.lamps.as_ref();
    let channel = |(i, plan): (usize, &crate::plan::ChannelPlan)| {
        let (part, base) = match lamps {
            Some(lamps) => (format!("r{}", lamps[i].part), format!("r{}", lamps[i].base)),
            None => ((2 * i).to_string(), (2 * i + 1).to_string()),
        };
        Channel {
            name: design.project.channels[i].name.value.clone(),
            pin: plan.pin.to_string(),
            output: plan.output,
            compare: plan.compare,
            store: store(plan.reach),
            part,
            base,
        }
    };
    design
        .plan
        .channels
        .iter()
        .enumerate()
        .map(channel)
        .collect()
}

fn register_names(registers: &Registers) -> RegisterNames {
    let (first, last) = registers.range();
    let named = [
        ("PHASE", registers.phase),
        ("OVERFLOWS", Some(registers.overflows)),
        ("FLAGS", Some(registers.flags)),
        ("KEPT", Some(registers.kept)),
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
        fixed: (first..=last).collect(),
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

/// Pull-up of the button, the pump's opposite starts, strings that are dark when high.
fn ports(design: &Design) -> Vec<Port> {
    let plan = &design.plan;
    let mut bits: Vec<(char, String, u8, String)> = Vec::new();
    if let Some(button) = &plan.button {
        let note = format!("pull-up of the button on {}", button.pin);
        bits.push((
            button.pin.port,
            button.port.clone(),
            button.pin.mask(),
            note,
        ));
    }
    if let Some(pump) = &plan.pump {
        let pin = &pump.pins[0];
        let note = format!("the pump's {} starts high", pin.pin);
        bits.push((pin.pin.port, pin.port.clone(), pin.pin.mask(), note));
    }
    for (channel, name) in plan.channels.iter().zip(&design.project.channels) {
        if channel.active == Active::Low {
            let port = format!("PORT{}", channel.pin.port);
            let note = format!("{} is dark when high", name.name.value);
            bits.push((channel.pin.port, port, channel.pin.mask(), note));
        }
    }
    bits.sort_by_key(|(port, ..)| *port);
    let mut ports: Vec<Port> = Vec::new();
    for (_, register, value, note) in bits {
        match ports.last_mut().filter(|port| port.register == register) {
            Some(port) => {
                port.value |= value;
                port.note = format!("{}; {note}", port.note);
            }
            None => ports.push(Port {
                register,
                value,
                note,
            }),
        }
    }
    ports
}

fn start_timers(plan: &Plan) -> StartTimers {
    StartTimers {
        reset: plan.start.reset.as_ref().map(Write::new),
        presets: plan
            .timers
            .iter()
            .filter(|timer| timer.preset.value > 0)
            .map(|timer| Write::new(&timer.preset))
            .collect(),
        go: plan.start.go.iter().map(Write::new).collect(),
    }
}

fn fuses(design: &Design) -> Fuses {
    let plan = &design.plan;
    let summary = if plan.needs_fuses() {
        "this project needs other ones than a new chip has"
    } else {
        "a new chip's are right as they are"
    };
    Fuses {
        heading: format!("The fuses; {summary}."),
        summary: summary.into(),
        bytes: plan
            .fuses
            .iter()
            .map(|fuse| Fuse {
                name: if plan.fuses.len() == 1 && fuse.name == "fuse" {
                    "byte"
                } else {
                    fuse.name
                },
                memory: fuse.memory,
                value: fuse.value,
                reason: fuse.reason.clone(),
            })
            .collect(),
    }
}

fn store(reach: Reach) -> &'static str {
    match reach {
        Reach::Bit | Reach::Out => "out",
        Reach::Memory => "sts",
    }
}

impl Write {
    fn new(assign: &Assign) -> Self {
        let bits: Vec<String> = assign
            .bits
            .iter()
            .map(|bit| format!("1 << {bit}"))
            .collect();
        let text = if bits.is_empty() {
            assign.value.to_string()
        } else {
            bits.join(" | ")
        };
        let (constraint, address) = match store(assign.reach) {
            "out" => ("I", "_SFR_IO_ADDR"),
            _ => ("i", "_SFR_MEM_ADDR"),
        };
        Self {
            register: assign.register,
            value: assign.value,
            bits: assign.bits.clone(),
            text,
            store: store(assign.reach),
            constraint,
            address,
        }
    }
}
