//! The parts of the firmware outside the player: shows, button, memory, times.

use serde::Serialize;

use crate::design::Design;
use crate::firmware::Memory;

#[derive(Debug, Serialize)]
pub struct Parts {
    draws: bool,
    streams: bool,
    hops: bool,
    taps: bool,
    holds: bool,
    /// Something survives a power cut.
    remembers: bool,
    /// Places are part of it, or at least kept.
    places: bool,
    memory: Option<MemoryText>,
    /// Single bytes that live in general purpose registers, and those that do not.
    register_variables: Vec<Variable>,
    /// Those that must start from 0.
    cleared: Vec<&'static str>,
    scratch: Vec<Variable>,
    variables: Vec<Variable>,
    roam: Option<Roam>,
    fade: Option<Fade>,
    button: Option<Button>,
    beats: bool,
    beat: Beat,
    tick: Tick,
    state: bool,
}

#[derive(Debug, Serialize)]
struct MemoryText {
    record: u32,
    end: u32,
    check: String,
    quiet: u8,
    /// What some headers call `EEARL`.
    address_also: Option<&'static str>,
    high_address: bool,
    arm: &'static str,
    start: &'static str,
    generator_offset: u32,
    forgets: bool,
}

#[derive(Debug, Clone, Serialize)]
struct Variable {
    name: &'static str,
    register: String,
    note: &'static str,
}

#[derive(Debug, Serialize)]
struct Roam {
    show: usize,
    low: u8,
    span: u8,
    /// How many other scenes there are, less one.
    others: u8,
}

#[derive(Debug, Serialize)]
struct Fade {
    step: u16,
}

#[derive(Debug, Serialize)]
struct Button {
    #[serde(rename = "type")]
    kind: &'static str,
    input: String,
    bit: u8,
    /// The pin is high while it is pressed.
    high: bool,
    pin: String,
    debounce: u16,
    hold: u16,
    wide: bool,
}

#[derive(Debug, Serialize)]
struct Beat {
    #[serde(rename = "type")]
    kind: &'static str,
    step: u32,
}

#[derive(Debug, Serialize)]
struct Tick {
    length: String,
    /// A tick is so many waits for so many overflows each.
    waits: u8,
    overflows: u8,
    /// A wait is no whole number of overflows: in 65536ths of one, what is beyond; 0: nothing.
    fraction: u16,
    /// The fraction takes two bytes; kept apart from the overflows, it needs the fewest registers.
    fine: bool,
    /// Overflows with a fraction of one byte.
    step: u32,
    text: String,
}

impl Parts {
    pub fn new(design: &Design, whole: bool) -> Self {
        let firmware = &design.firmware;
        let features = firmware.features;
        let memory = firmware.memory.as_ref();
        let button = design
            .plan
            .button
            .as_ref()
            .zip(firmware.button)
            .map(|(pin, ticks)| Button {
                kind: if ticks.is_wide() {
                    "uint16_t"
                } else {
                    "uint8_t"
                },
                input: pin.input.clone(),
                bit: pin.pin.bit,
                high: design.project.button_to_supply(),
                pin: pin.pin.to_string(),
                debounce: ticks.debounce,
                hold: ticks.hold,
                wide: ticks.is_wide(),
            });
        let beats = firmware.has_beats();
        let Variables {
            registers,
            scratch,
            memory: variables,
        } = variables(design, button.as_ref());
        let ticks = firmware.beats.ticks;
        Self {
            draws: features.draws,
            streams: features.streams,
            hops: features.hops,
            taps: features.taps,
            holds: features.holds,
            remembers: memory.is_some(),
            places: features.hops,
            memory: memory.map(|memory| memory_text(design, memory)),
            register_variables: registers,
            cleared: cleared(design),
            scratch,
            variables,
            roam: roam(design),
            fade: firmware
                .fade
                .filter(|_| whole)
                .map(|step| Fade { step: step.0 }),
            button,
            beats,
            beat: Beat {
                kind: if firmware.beats.is_wide() {
                    "uint16_t"
                } else {
                    "uint8_t"
                },
                step: if firmware.beats.is_wide() {
                    65_536 / ticks
                } else {
                    256 / ticks
                },
            },
            tick: tick(design),
            state: features.hops || features.draws,
        }
    }

    pub fn multiplies(&self) -> bool {
        self.draws || self.fade.is_some()
    }
}

fn memory_text(design: &Design, memory: &Memory) -> MemoryText {
    let eeprom = &design.plan.chip.eeprom;
    MemoryText {
        record: memory.record.0,
        end: memory.end.0,
        check: format!("0x{:02X}", memory.check),
        quiet: design.firmware.beats.quiet,
        address_also: eeprom.address_also.as_deref(),
        high_address: eeprom.size.0 > 256,
        arm: &eeprom.arm,
        start: &eeprom.start,
        generator_offset: memory.generator_offset().0,
        forgets: memory.forgets,
    }
}

/// What nothing else sets before it is used.
fn cleared(design: &Design) -> Vec<&'static str> {
    let firmware = &design.firmware;
    let mut names = Vec::new();
    if firmware.button.is_some() {
        names.push("pressed");
    }
    if firmware.fade.is_some() {
        names.push("master");
        if !firmware.features.hops {
            names.push("leaving");
        }
    }
    if firmware.memory.is_some() && !firmware.features.draws {
        names.push("unsaved");
    }
    names
}

/// Where single bytes live.
#[derive(Default)]
struct Variables {
    registers: Vec<Variable>,
    scratch: Vec<Variable>,
    memory: Vec<Variable>,
}

/// The last register that the compiler can do without.
const LAST_SPARE: u8 = 15;

/// Variables go into registers that the interrupt leaves over, then where a single instruction
/// reaches them, if the chip has such registers; those that are counted most come first.
fn variables(design: &Design, button: Option<&Button>) -> Variables {
    let firmware = &design.firmware;
    let remembers = firmware.memory.is_some();
    let wanted = [
        (
            button.is_some_and(|button| !button.wide),
            "pressed",
            "ticks for which the button is down",
        ),
        (remembers, "record", "where the next record goes"),
        (
            remembers,
            "unsaved",
            "steps until the state is saved; 0: it is",
        ),
        (remembers, "check", "what the check byte has come to"),
        (
            firmware.features.roams,
            "dwell",
            "beats until the next scene",
        ),
        (
            firmware.fade.is_some(),
            "leaving",
            "the old scene is being dimmed",
        ),
        (firmware.fade.is_some(), "scene", "the scene that is due"),
    ];
    let (_, last) = firmware.registers.range();
    let mut spare = last + 1..=LAST_SPARE;
    let mut scratch = ["GPIOR0", "GPIOR1", "GPIOR2"]
        .into_iter()
        .filter(|name| design.plan.chip.register(name).is_some());
    let mut variables = Variables::default();
    for (_, name, note) in wanted.into_iter().filter(|(wanted, ..)| *wanted) {
        let variable = |register: String| Variable {
            name,
            register,
            note,
        };
        if let Some(register) = spare.next() {
            variables.registers.push(variable(format!("r{register}")));
        } else if let Some(register) = scratch.next() {
            variables.scratch.push(variable(register.into()));
        } else {
            variables.memory.push(variable(String::new()));
        }
    }
    variables
}

fn roam(design: &Design) -> Option<Roam> {
    let show = crate::firmware::roaming(&design.deck.image)?;
    let dwell = design.firmware.beats.dwell?;
    let count = design.deck.image.score.shows[show].count;
    Some(Roam {
        show,
        low: dwell.low,
        span: dwell.span,
        others: count.saturating_sub(2),
    })
}

fn tick(design: &Design) -> Tick {
    let tick = &design.plan.tick;
    let step = u32::from(tick.overflows) << 16 | u32::from(tick.fraction);
    let overflows = (f64::from(step) / 65_536.0 * 1e4).round() / 1e4;
    Tick {
        length: format!("{} ms", (tick.seconds() * 1e6).round() / 1e3),
        waits: tick.waits,
        overflows: tick.overflows,
        fraction: tick.fraction,
        fine: tick.is_fine(),
        step: step >> 8,
        text: match tick.waits {
            1 => format!("{overflows} overflows a tick"),
            waits => format!("{waits} waits a tick, of {overflows} overflows each"),
        },
    }
}
