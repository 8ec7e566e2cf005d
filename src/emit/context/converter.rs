//! The converter, and what the firmware does with what it measures.

use serde::Serialize;

use super::parts::time;
use super::write::WriteText;
use crate::design::Design;
use crate::input::cells::{LOOKS, SPENT};
use crate::input::knob::{ENDS, PLAY};
use crate::spec::Sets;
use crate::target::Measured;

#[derive(Debug, Serialize)]
pub(super) struct ConverterText {
    set_up: Vec<WriteText>,
    result: &'static str,
    load: &'static str,
    /// What is.
    measured: String,
}

/// How what is measured in turn is told apart.
#[derive(Debug, Serialize)]
pub(super) struct MeasureText {
    load: &'static str,
    store: &'static str,
    /// Chooses what is measured.
    register: &'static str,
    turns: Vec<TurnText>,
    /// There are several.
    several: bool,
    /// How bright it is around is kept until it is asked for.
    room: bool,
}

#[derive(Debug, Serialize)]
struct TurnText {
    what: Measured,
    /// What chooses it, and what comes next.
    choice: u8,
    next: u8,
}

#[derive(Debug, Serialize)]
pub(super) struct KnobText {
    /// As the project calls it.
    name: String,
    pin: String,
    ends: u8,
    play: u8,
    /// Of 255, in which it follows.
    step: u8,
    /// The variable that follows it.
    sets: &'static str,
}

#[derive(Debug, Serialize)]
pub(super) struct GuardText {
    looks: u16,
    /// What those take.
    time: String,
    dim: u8,
    off: u8,
    /// What there is no limit after.
    spent: u8,
    /// What is let through when cells are low, and what that is of lightness.
    dimmed: u8,
    to: String,
    dim_volts: String,
    off_volts: String,
}

impl ConverterText {
    /// `None`: nothing is measured.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let converter = design.plan.converter.as_ref()?;
        let measures = converter.measures.iter();
        let measured: Vec<&str> = measures
            .map(|measure| match measure.what {
                Measured::Knob => "the knob",
                Measured::Room => "the light around",
                Measured::Cells => "the supply",
            })
            .collect();
        Some(Self {
            set_up: converter.set_up.iter().map(WriteText::new).collect(),
            result: converter.result,
            load: converter.reach.load(),
            measured: match measured.as_slice() {
                [first, second, third] => format!("{first}, {second} and {third}"),
                few => few.join(" and "),
            },
        })
    }
}

impl MeasureText {
    /// `None`: nothing is measured at a tick.
    pub(super) fn new(design: &Design) -> Option<Self> {
        design.firmware.measures().then_some(())?;
        let measures = &design.plan.converter.as_ref()?.measures;
        let first = &measures.first()?.choose;
        let several = design.firmware.measures_in_turn();
        let next = measures.iter().cycle().skip(1);
        let turns = measures.iter().zip(next);
        Some(Self {
            load: first.reach.load(),
            store: first.reach.store(),
            register: first.register,
            turns: turns
                .map(|(this, next)| TurnText {
                    what: this.what,
                    choice: this.choose.value,
                    next: next.choose.value,
                })
                .collect(),
            several,
            room: several && design.firmware.dusk.is_some(),
        })
    }
}

impl KnobText {
    /// `None`: there is none.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let knob = design.project.knob.as_ref()?;
        let measure = design.plan.measured_at(Measured::Knob)?;
        Some(Self {
            name: knob.name.value.clone(),
            pin: measure.pin.to_string(),
            ends: ENDS,
            play: PLAY,
            step: design.firmware.knob?.step,
            sets: match knob.sets {
                Sets::Brightness => "gain",
                Sets::Speed => "pace",
            },
        })
    }
}

impl GuardText {
    /// `None`: nobody looks after the cells.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let rules = design.firmware.cells?;
        let supply = design.plan.converter.as_ref()?.supply?;
        let volts = |measured: u8| supply.volts(measured)[1].to_string();
        Some(Self {
            looks: LOOKS,
            time: time(design, design.firmware.agree().0),
            dim: rules.limits.dim,
            off: rules.limits.off,
            spent: SPENT,
            dimmed: rules.dimmed.0,
            to: design.project.guard.as_ref()?.to.to_string(),
            dim_volts: volts(rules.limits.dim),
            off_volts: volts(rules.limits.off),
        })
    }
}

/// What is measured and lets a part of the light through, and that it does so. `None`: nothing does.
pub(super) fn gain(design: &Design) -> Option<&'static str> {
    let firmware = &design.firmware;
    match (firmware.dim_knob().is_some(), firmware.cells.is_some()) {
        (true, false) => Some("the knob lets"),
        (true, true) => Some("knob and cells let"),
        (false, true) => Some("the cells let"),
        (false, false) => None,
    }
}

/// The same of all that does, buttons too.
pub(super) fn lets(design: &Design) -> Option<&'static str> {
    match (gain(design), design.firmware.dimmer.is_some()) {
        (None, true) => Some("the buttons let"),
        (Some(_), true) => Some("buttons and cells let"),
        (gain, false) => gain,
    }
}
