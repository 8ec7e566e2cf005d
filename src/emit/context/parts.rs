//! The parts of the firmware outside the player: shows, button, memory, times.

use serde::Serialize;

use super::contacts::{ContactText, DimmerText, contacts};
use super::converter::{ConverterText, GuardText, KnobText, MeasureText, gain, lets};
use super::once::OnceText;
use super::switch::SwitchText;
use super::watched::{WatchedText, in_c};
use crate::conduct::{Kept, Memory};
use crate::design::Design;
use crate::drive::Drive;
use crate::firmware::{Home, Part};
use crate::units::{Bytes, Seconds};

#[derive(Debug, Serialize)]
pub(super) struct Parts {
    /// In the order in which they are declared.
    parts: Vec<Part>,
    draws: bool,
    streams: bool,
    hops: bool,
    taps: bool,
    holds: bool,
    /// Something survives a power cut.
    remembers: bool,
    /// Show, place and brightness do, not the generator alone.
    choices: bool,
    /// They do not, although there are some.
    forgets: bool,
    memory: Option<MemoryText>,
    /// What is playing, field by field.
    state: Vec<FieldText>,
    /// Single bytes that live in general purpose registers, and those that do not.
    register_variables: Vec<VariableText>,
    /// Those that must start from 0.
    cleared: Vec<&'static str>,
    scratch: Vec<VariableText>,
    variables: Vec<VariableText>,
    roam: Option<Roam>,
    fade: Option<Fade>,
    button: Option<Button>,
    once: Option<OnceText>,
    contacts: Vec<ContactText>,
    dimmer: Option<DimmerText>,
    switch: Option<SwitchText>,
    converter: Option<ConverterText>,
    measure: Option<MeasureText>,
    knob: Option<KnobText>,
    /// The knob says how much of the light is there, or how fast patterns go.
    dim_knob: bool,
    paces: bool,
    guard: Option<GuardText>,
    /// What is measured and lets a part of the light through; and what does in all.
    gain: Option<&'static str>,
    lets: Option<&'static str>,
    /// How a scene that is due is told from the light's going.
    gone: Option<Gone>,
    /// Levels are dimmed before they become light.
    dims: bool,
    beats: bool,
    beat: Beat,
    tick: Tick,
}

#[derive(Debug, Serialize)]
struct FieldText {
    declaration: &'static str,
    note: &'static str,
}

#[derive(Debug, Serialize)]
struct MemoryText {
    record: u32,
    end: u32,
    check: String,
    quiet: u16,
    /// The steps of a save take two bytes.
    wide: bool,
    /// What the steps of quiet take.
    quiet_time: String,
    generator_offset: u32,
    /// What a record has before the generator, with all choices as they are at first.
    before_seed: Vec<u8>,
}

#[derive(Debug, Serialize)]
struct VariableText {
    #[serde(rename = "type")]
    kind: &'static str,
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
    time: String,
}

#[derive(Debug, Serialize)]
struct Fade {
    step: u16,
    /// From full to dark.
    time: String,
}

/// The comparisons of a scene with the lowest number that is none.
#[derive(Debug, Serialize)]
struct Gone {
    is: &'static str,
    not: &'static str,
}

#[derive(Debug, Serialize)]
struct Button {
    #[serde(flatten)]
    watched: WatchedText,
    /// What the count comes to, which starts from 1.
    hold: u16,
    hold_time: String,
    /// …with which the light goes off; a hold is then known by its end.
    long: Option<u16>,
    long_time: Option<String>,
}

#[derive(Debug, Serialize)]
struct Beat {
    #[serde(rename = "type")]
    kind: &'static str,
    step: u32,
    /// The bits of the counter that are 0 when a step of a save is due; `None`: all.
    mask: Option<u32>,
    time: String,
    /// Of one such step.
    part: Option<String>,
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
    pub(super) fn new(design: &Design, whole: bool) -> Self {
        let firmware = &design.firmware;
        let features = firmware.features;
        let memory = firmware.memory.as_ref();
        let button = design
            .plan
            .button
            .as_ref()
            .zip(firmware.button)
            .map(|(pin, ticks)| Button {
                watched: WatchedText::new(
                    design,
                    pin,
                    ticks.is_wide(),
                    design.project.button_to_supply(),
                    ticks.debounce,
                ),
                hold: ticks.hold + 1,
                hold_time: between(design, ticks.hold),
                long: ticks.long.map(|long| long + 1),
                long_time: ticks.long.map(|long| between(design, long)),
            });
        let beats = firmware.has_beats();
        Self {
            parts: firmware.parts(),
            draws: features.draws,
            streams: features.streams,
            hops: firmware.rules.hops(),
            taps: firmware.rules.taps(),
            holds: firmware.rules.holds(),
            remembers: memory.is_some(),
            choices: firmware.remembers_choices(),
            forgets: memory.is_some_and(Memory::forgets),
            memory: memory.map(|memory| memory_text(design, memory)),
            state: state(design),
            register_variables: variables(design, |home| match home {
                Home::Register(number) => Some(format!("r{number}")),
                _ => None,
            }),
            cleared: firmware.cleared(),
            scratch: variables(design, |home| match home {
                Home::Io(register) => Some(register.to_string()),
                _ => None,
            }),
            variables: variables(design, |home| (home == Home::Memory).then(String::new)),
            roam: roam(design),
            fade: firmware.fade.filter(|_| whole).map(|step| Fade {
                step: step.0,
                time: time(design, u16::MAX.div_ceil(step.0)),
            }),
            button,
            once: OnceText::new(design),
            contacts: contacts(design),
            dimmer: DimmerText::new(design),
            switch: SwitchText::new(design),
            converter: ConverterText::new(design),
            measure: MeasureText::new(design),
            knob: KnobText::new(design),
            dim_knob: firmware.dim_knob().is_some(),
            paces: firmware.pacer().is_some(),
            guard: GuardText::new(design),
            gain: gain(design),
            lets: lets(design),
            gone: gone(design),
            dims: whole && firmware.dims(),
            beats,
            beat: beat(design),
            tick: tick(design),
        }
    }

    pub(super) fn multiplies(&self) -> bool {
        self.draws || self.dims
    }
}

/// `None`: the light does not go, or at once.
fn gone(design: &Design) -> Option<Gone> {
    let firmware = &design.firmware;
    firmware.fade?;
    let (is, not) = if firmware.cells.is_some() {
        (">= SPENT", "< SPENT")
    } else if firmware.has_nights() {
        (">= NIGHT", "< NIGHT")
    } else if firmware.rules.stands_by() {
        ("== OFF", "!= OFF")
    } else {
        return None;
    };
    Some(Gone { is, not })
}

fn state(design: &Design) -> Vec<FieldText> {
    let several = design.deck.image.score.shows.len() > 1;
    let text = |field: &Kept| match field {
        Kept::Places(_) if several => FieldText {
            declaration: "place[SHOWS]",
            note: "which of each show's scenes plays",
        },
        Kept::Places(_) => FieldText {
            declaration: "place",
            note: "which of the scenes plays",
        },
        Kept::Show => FieldText {
            declaration: "show",
            note: "which show is on",
        },
        Kept::Dimmed => FieldText {
            declaration: "dimmed",
            note: "how much of the light buttons have taken, of 256",
        },
        Kept::Generator => FieldText {
            declaration: "generator[2]",
            note: "so that no two power-ups are alike",
        },
    };
    design.firmware.state.fields.iter().map(text).collect()
}

fn beat(design: &Design) -> Beat {
    let beats = &design.firmware.beats;
    let (kind, range) = if beats.is_wide() {
        ("uint16_t", 1 << 16)
    } else {
        ("uint8_t", 1 << 8)
    };
    let step = range / beats.ticks;
    let saving = design.firmware.memory.as_ref().map(|memory| memory.saving);
    let finer = saving.filter(|saving| saving.every < beats.ticks);
    Beat {
        kind,
        step,
        mask: finer.map(|saving| saving.every * step - 1),
        time: time(design, beats.ticks),
        part: finer.map(|saving| time(design, saving.every)),
    }
}

fn memory_text(design: &Design, memory: &Memory) -> MemoryText {
    MemoryText {
        record: memory.record.0,
        end: memory.end.0,
        check: format!("0x{:02X}", memory.check),
        quiet: memory.saving.quiet,
        wide: memory.saving.is_wide(),
        quiet_time: time(design, u32::from(memory.saving.quiet) * memory.saving.every),
        generator_offset: design.firmware.state.before_generator().0,
        before_seed: vec![0; memory.state.0.saturating_sub(2) as usize],
    }
}

/// The variables that live in one kind of home, as they are declared.
fn variables(design: &Design, register: impl Fn(Home) -> Option<String>) -> Vec<VariableText> {
    let all = design.firmware.variables.iter();
    all.filter_map(|variable| {
        Some(VariableText {
            kind: in_c(variable.size != Bytes(1)),
            name: variable.name,
            register: register(variable.home)?,
            note: variable.note,
        })
    })
    .collect()
}

fn roam(design: &Design) -> Option<Roam> {
    let show = crate::conduct::roaming(&design.deck.image)?;
    let dwell = design.firmware.beats.dwell?;
    let count = design.deck.image.score.shows[show].count;
    Some(Roam {
        show,
        low: dwell.low,
        span: dwell.span,
        others: count.saturating_sub(2),
        time: {
            let most = u32::from(dwell.low) + u32::from(dwell.span);
            let at = |beats: u32| time(design, beats * design.firmware.beats.ticks);
            format!("{} to {}", at(dwell.low.into()), at(most))
        },
    })
}

/// What is certain to have passed from the first to the last of so many looks at a pin, one a tick.
pub(super) fn between(design: &Design, looks: u16) -> String {
    time(design, looks.saturating_sub(1))
}

/// What so many ticks take.
pub(super) fn time(design: &Design, ticks: impl Into<u32>) -> String {
    let seconds = f64::from(ticks.into()) * design.plan.tick.seconds();
    Seconds(seconds).to_string()
}

fn tick(design: &Design) -> Tick {
    let tick = &design.plan.tick;
    let step = u32::from(tick.overflows) << 16 | u32::from(tick.fraction);
    let overflows = (f64::from(step) / 65_536.0 * 1e4).round() / 1e4;
    let counted = match &design.plan.drive {
        Drive::Timer(_) | Drive::Mixed(_) => "overflows",
        Drive::Port(_) => "frames",
    };
    Tick {
        length: format!("{} ms", (tick.seconds() * 1e6).round() / 1e3),
        waits: tick.waits,
        overflows: tick.overflows,
        fraction: tick.fraction,
        fine: tick.is_fine(),
        step: step >> 8,
        text: match tick.waits {
            1 => format!("{overflows} {counted} a tick"),
            waits => format!("{waits} waits a tick, of {overflows} {counted} each"),
        },
    }
}
