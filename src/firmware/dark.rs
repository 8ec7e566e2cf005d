//! Dark, in standby and at night: what the assembly of both says, and of the evening between.

use serde::Serialize;

use super::Firmware;
use crate::conduct::Dusk;
use crate::plan::Plan;
use crate::spec::ButtonTo;
use crate::target::{Counting, Measured, Write};
use crate::units::Time;

pub(super) const TEMPLATE: (&str, &str) = (
    "dark.S",
    include_str!("../../templates/avr/dark.S.j2").trim_ascii_end(),
);

/// How it is dark and when, in words and numbers.
#[derive(Debug, Default, Serialize)]
pub struct DarkText {
    /// `None`: it is never dark while it has power.
    dark: Option<RestText>,
    standby: Option<StandbyText>,
    evening: Option<EveningText>,
    /// It may be dark for good, as cells are spent.
    for_good: bool,
    /// Something wakes it.
    wakes: bool,
}

/// How it is dark.
#[derive(Debug, Serialize)]
struct RestText {
    /// Ends the light.
    quiet: Vec<Line>,
    /// `None`: no button wakes it.
    button: Option<Button>,
    /// Just before a sleep.
    sleep: Vec<Line>,
    /// Turn the watchdog off, in standby and for good; empty: there is none.
    watchdog: Vec<Line>,
}

#[derive(Debug, Serialize)]
struct Button {
    held: Held,
    /// Let through what wakes it.
    allow: Vec<Line>,
}

/// Standby in words and numbers.
#[derive(Debug, Serialize)]
struct StandbyText {
    /// When power comes, the light is off: the register that tells what has started the chip, and its bits of
    /// all but the watchdog. `None`: it is on.
    starts_dark: Option<Causes>,
}

/// The evening and the night in words and numbers.
#[derive(Debug, Serialize)]
struct EveningText {
    /// Bytes of its ticks, lowest first, and their places in memory; none where only the room ends it.
    ticks: Vec<u8>,
    places: Vec<u32>,
    size: u32,
    on: String,
    /// Reads the watchdog's register, and the bit that lets it interrupt.
    load: &'static str,
    again: Line,
    bit: u8,
    /// The night is as long as evening and day want it, or as it is bright around.
    day: Option<DayText>,
    room: Option<RoomText>,
}

/// A night that is counted.
#[derive(Debug, Serialize)]
struct DayText {
    /// Where the watchdog's periods are counted.
    periods: u32,
    every: String,
    lit: u8,
    dark: u8,
    /// With what a night begins, so that it is as often too long as too short.
    begins: u8,
}

/// A night that dusk ends.
#[derive(Debug, Serialize)]
struct RoomText {
    /// Where ticks in the bright are counted down, and from what.
    counted: u32,
    steady: [u8; 2],
    looks: u8,
    dark: u8,
    bright: u8,
    dark_light: String,
    bright_light: String,
    time: String,
    /// How it is measured: what to write to choose it, where that is chosen in turn with a knob.
    choose: Option<Line>,
    go: Line,
    load: &'static str,
    control: &'static str,
    busy: u8,
    result: &'static str,
    off: Line,
}

#[derive(Debug, Serialize)]
struct Causes {
    register: &'static str,
    bits: Vec<&'static str>,
    value: u8,
}

/// A register and what is written into it.
#[derive(Debug, Serialize)]
struct Line {
    store: &'static str,
    register: &'static str,
    value: u8,
    /// The names of the bits.
    bits: String,
}

/// How the button is waited for until it is let go.
#[derive(Debug, Serialize)]
struct Held {
    /// The instruction that skips the next one while it is up.
    skip: &'static str,
    input: String,
    bit: u8,
    /// How often it is looked at, counted up to 0, and cycles of doing nothing between.
    low: u8,
    high: u8,
    idle: Vec<()>,
    time: String,
}

/// Cycles from one look at the button to the next: the skip, an addition, a branch; and of each jump to the
/// next instruction that is put between.
const LOOK: u32 = 6;
const IDLE: u32 = 2;

impl DarkText {
    pub fn new(plan: &Plan, firmware: &Firmware) -> Self {
        let Some(power_down) = &plan.power_down else {
            return Self::default();
        };
        let button = power_down.button.as_ref().and_then(|button| {
            Some(Button {
                held: Held::new(plan)?,
                allow: button.waking.allow.iter().map(Line::new).collect(),
            })
        });
        let counting = plan.watchdog.iter().find_map(|watchdog| {
            let counting = watchdog.counting.as_ref()?;
            Some((counting, watchdog.time))
        });
        let nights = counting.filter(|_| firmware.has_nights());
        let dark = RestText {
            quiet: plan.quiet().iter().map(Line::new).collect(),
            button,
            sleep: power_down.sleep.iter().map(Line::new).collect(),
            watchdog: unwatched(plan),
        };
        Self {
            for_good: firmware.cells.is_some(),
            wakes: firmware.has_nights() || firmware.rules.stands_by(),
            dark: Some(dark),
            standby: firmware
                .rules
                .stands_by()
                .then(|| StandbyText::new(plan, firmware)),
            evening: nights
                .map(|(counting, period)| EveningText::new(plan, firmware, counting, period)),
        }
    }
}

impl StandbyText {
    fn new(plan: &Plan, firmware: &Firmware) -> Self {
        Self {
            starts_dark: firmware.starts_dark.then(|| {
                let causes = plan.target().power_causes();
                Causes {
                    register: causes.register,
                    bits: causes.bits,
                    value: causes.value,
                }
            }),
        }
    }
}

fn unwatched(plan: &Plan) -> Vec<Line> {
    let off = plan.target().no_watchdog();
    let watchdog = plan.watchdog.as_ref().map(|_| {
        // First it forgets a reset that it has made, which would keep it on.
        [off.flags, off.off.unlock, off.off.write]
    });
    watchdog.iter().flatten().map(Line::new).collect()
}

impl EveningText {
    fn new(plan: &Plan, firmware: &Firmware, counting: &Counting, period: Time) -> Self {
        let time = |ticks: u32| {
            let seconds = f64::from(ticks) * plan.tick.seconds();
            Time(seconds.round() as u64 * 1_000_000_000).to_string()
        };
        let count = firmware.counted().0;
        let on = firmware.lasts().map_or(0, |on| on.0);
        let again = &counting.again;
        Self {
            ticks: on.to_le_bytes()[..count as usize].to_vec(),
            places: (0..count).collect(),
            size: firmware.nights().0,
            on: time(on),
            load: again.reach.load(),
            again: Line::new(again),
            bit: again.value.trailing_zeros() as u8,
            day: firmware.evening.map(|evening| DayText {
                periods: count,
                every: time(evening.on.0 + evening.goes.0 + evening.night.0),
                lit: evening.lit,
                dark: evening.dark,
                begins: evening.dark / 2,
            }),
            room: firmware
                .dusk
                .and_then(|dusk| RoomText::new(plan, dusk, count, period)),
        }
    }
}

impl RoomText {
    fn new(plan: &Plan, dusk: Dusk, counted: u32, period: Time) -> Option<Self> {
        let room = dusk.room;
        let converter = plan.converter.as_ref()?;
        let measure = converter.measure(Measured::Room)?;
        let several = converter.measures.len() > 1;
        Some(Self {
            counted,
            steady: room.steady.to_le_bytes(),
            looks: room.looks,
            dark: room.dark,
            bright: room.bright,
            dark_light: room.dark_light.to_string(),
            bright_light: room.bright_light.to_string(),
            time: Time(u64::from(room.looks) * period.0).to_string(),
            choose: several.then(|| Line::new(&measure.choose)),
            go: Line::new(&converter.once),
            load: converter.reach.load(),
            control: converter.once.register,
            busy: converter.busy,
            result: converter.result,
            off: Line::new(&converter.off),
        })
    }
}

impl Line {
    fn new(write: &Write) -> Self {
        Self {
            store: write.reach.store(),
            register: write.register,
            value: write.value,
            bits: write.bits.join(", "),
        }
    }
}

impl Held {
    fn new(plan: &Plan) -> Option<Self> {
        let button = plan.button.as_ref()?;
        let waking = plan.power_down.as_ref()?.button.as_ref()?;
        let wanted = waking.debounce.seconds() * plan.clock.frequency.0;
        let beyond = wanted / f64::from(u16::MAX) - f64::from(LOOK);
        let idle = (beyond / f64::from(IDLE)).ceil().max(0.0) as u32;
        let look = LOOK + IDLE * idle;
        let looks = (wanted / f64::from(look))
            .ceil()
            .clamp(1.0, f64::from(u16::MAX)) as u16;
        let [low, high] = looks.wrapping_neg().to_le_bytes();
        let seconds = f64::from(looks) * f64::from(look) / plan.clock.frequency.0;
        Some(Self {
            skip: match waking.to {
                ButtonTo::Ground => "sbis",
                ButtonTo::Supply => "sbic",
            },
            input: button.input.clone(),
            bit: button.pin.bit,
            low,
            high,
            idle: vec![(); idle as usize],
            time: Time((seconds * 1e3).round() as u64 * 1_000_000).to_string(),
        })
    }
}
