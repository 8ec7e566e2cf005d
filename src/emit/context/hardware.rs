//! The chip, its registers and clock, and what is set up on it.

use serde::Serialize;

use super::fuses::{Fuses, fuses};
use super::pins::{Direction, Port, directions, ports};
use super::write::{GuardedText, StartTimers, Timer, WriteText, refreshed, start_timers, timers};
use crate::design::Design;
use crate::drive::Text;
use crate::drive::timer::{Keeper, Shelter};
use crate::firmware::{DarkText, StartUp, Vector, vectors};
use crate::target::{MemoryRegisters, WatchdogOff, WatchdogPlan};

#[derive(Debug, Serialize)]
pub(super) struct Hardware {
    chip: Chip,
    #[serde(flatten)]
    drive: Text,
    /// Some light is so bright that the leading period has fewer counts than the others.
    wraps: bool,
    #[serde(flatten)]
    start_up: StartUp,
    /// The vectors in use; the start-up has room at reset's, or after one of them, or not.
    vectors: Vec<Vector>,
    starts_first: bool,
    starts_among: bool,
    /// The interrupts' code that is not at its vector, and all of it, by template.
    apart: Vec<&'static str>,
    handlers: Vec<&'static str>,
    /// What lets them through.
    enables: Vec<WriteText>,
    /// Some channel is plain; and of some the player itself sets the pin.
    plain: bool,
    latched: bool,
    /// In standby and at night.
    #[serde(flatten)]
    dark: DarkText,
    /// Keeps out what wakes the chip, while it is awake.
    forbid: Option<WriteText>,
    /// Interrupts that are kept out.
    other_interrupts: Vec<WriteText>,
    comparator: WriteText,
    /// Written again at each tick.
    refreshed: Vec<WriteText>,
    has_mul: bool,
    clock: Clock,
    watchdog: Option<Watchdog>,
    no_watchdog: NoWatchdog,
    ports: Vec<Port>,
    directions: Vec<Direction>,
    timers: Vec<Timer>,
    start_timers: StartTimers,
    sleep: WriteText,
    eeprom: MemoryRegisters,
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
struct Clock {
    divide: Option<GuardedText>,
    text: String,
    /// Which of the factory's calibrations it wants. `None`: reset loads the right one.
    calibration: Option<Calibration>,
}

#[derive(Debug, Serialize)]
struct Calibration {
    register: &'static str,
    /// Counted from 1.
    number: u8,
    frequency: String,
}

#[derive(Debug, Serialize)]
struct Watchdog {
    on: GuardedText,
    time: String,
}

#[derive(Debug, Serialize)]
struct NoWatchdog {
    flags: WriteText,
    off: GuardedText,
}

impl Hardware {
    pub(super) fn new(design: &Design, firmware: bool, owner: super::Registers) -> Self {
        let plan = &design.plan;
        let (chip, target) = (plan.chip, plan.target());
        let dark_first = design.firmware.dark_first;
        let vectors = vectors(plan, dark_first);
        let drive = &plan.drive;
        let handlers = plan.handlers().iter();
        let channels = design.project.channels.iter();
        let names = channels.map(|channel| channel.name.value.as_str());
        let keeper = match (firmware, owner) {
            (false, _) => Keeper::Nobody,
            (true, super::Registers::Interrupts) => Keeper::Registers,
            (true, super::Registers::Compilers) => Keeper::Shelter(Shelter::new(chip)),
        };
        Self {
            chip: Chip {
                title: &chip.title,
                mcu: &chip.name,
                avrdude: &chip.avrdude,
                eeprom: chip.eeprom.size.0,
            },
            drive: drive.text(names, keeper),
            wraps: wraps(design),
            start_up: StartUp::new(plan, dark_first),
            starts_first: vectors.starts_first,
            starts_among: vectors.have_start_up(),
            vectors: vectors.used,
            apart: handlers
                .filter(|handler| handler.apart.is_some())
                .map(|handler| handler.text)
                .collect(),
            plain: drive.channels().iter().any(|channel| channel.plain),
            latched: firmware && !drive.latched().is_empty(),
            dark: DarkText::new(plan, &design.firmware),
            forbid: plan
                .power_down
                .as_ref()
                .and_then(|power_down| power_down.button.as_ref())
                .map(|button| WriteText::new(&button.waking.forbid)),
            handlers: plan.handlers().iter().map(|one| one.text).collect(),
            enables: drive.enables().into_iter().map(WriteText::new).collect(),
            other_interrupts: drive.kept_out().iter().map(WriteText::new).collect(),
            comparator: WriteText::new(&target.rest()),
            refreshed: refreshed(plan),
            has_mul: chip.multiplies(),
            clock: clock(design),
            watchdog: plan.watchdog.as_ref().map(watchdog),
            no_watchdog: no_watchdog(&target.no_watchdog()),
            ports: ports(design),
            directions: directions(plan),
            timers: timers(drive),
            start_timers: start_timers(drive),
            sleep: WriteText::new(&target.idle()),
            eeprom: target.memory(),
            fuses: fuses(design),
        }
    }
}

fn clock(design: &Design) -> Clock {
    let plan = &design.plan;
    let target = plan.target();
    let uncalibrated = plan.clock.uncalibrated;
    Clock {
        divide: plan
            .clock
            .prescaler_bits
            .map(|bits| GuardedText::new(&target.divide_clock(bits))),
        text: match (plan.clock.frequency, plan.clock.oscillator) {
            (clock, oscillator) if clock == oscillator => format!("{clock}, undivided"),
            (clock, oscillator) => format!("{clock} of the oscillator's {oscillator}"),
        },
        calibration: uncalibrated.map(|byte| Calibration {
            register: target.calibration(),
            number: byte.byte + 1,
            frequency: plan.clock.oscillator.to_string(),
        }),
    }
}

fn watchdog(watchdog: &WatchdogPlan) -> Watchdog {
    Watchdog {
        on: GuardedText::new(&watchdog.on),
        time: watchdog.time.to_string(),
    }
}

fn no_watchdog(off: &WatchdogOff) -> NoWatchdog {
    NoWatchdog {
        flags: WriteText::new(&off.flags),
        off: GuardedText::new(&off.off),
    }
}

fn wraps(design: &Design) -> bool {
    let Some(drive) = design.plan.drive.timer() else {
        return false;
    };
    let channels = design.deck.duties(design.scale.levels());
    channels
        .iter()
        .flatten()
        .any(|duty| drive.dither.wraps(*duty))
}
