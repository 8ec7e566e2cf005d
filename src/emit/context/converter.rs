//! The converter, and the knob that it measures.

use serde::Serialize;

use super::write::WriteText;
use crate::design::Design;
use crate::input::knob::{ENDS, PLAY};
use crate::target::Measured;

#[derive(Debug, Serialize)]
pub(super) struct ConverterText {
    set_up: Vec<WriteText>,
    result: &'static str,
    load: &'static str,
    /// What is.
    measured: String,
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
    /// What is measured in turn with it. `None`: nothing is.
    turns: Option<TurnsText>,
}

/// The register that chooses what is measured, and what it is to be.
#[derive(Debug, Serialize)]
struct TurnsText {
    load: &'static str,
    store: &'static str,
    register: &'static str,
    room: u8,
    knob: u8,
}

impl ConverterText {
    /// `None`: nothing is measured.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let converter = design.plan.converter.as_ref()?;
        let measures = converter.measures.iter();
        let measured = measures.map(|measure| match measure.what {
            Measured::Knob => "the knob",
            Measured::Room => "the light around",
        });
        Some(Self {
            set_up: converter.set_up.iter().map(WriteText::new).collect(),
            result: converter.result,
            load: converter.reach.load(),
            measured: measured.collect::<Vec<_>>().join(" and "),
        })
    }
}

impl KnobText {
    /// `None`: there is none.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let knob = design.project.knob.as_ref()?;
        let converter = design.plan.converter.as_ref()?;
        let measure = converter.measure(Measured::Knob)?;
        let turns = converter.measure(Measured::Room).map(|room| TurnsText {
            load: room.choose.reach.load(),
            store: room.choose.reach.store(),
            register: room.choose.register,
            room: room.choose.value,
            knob: measure.choose.value,
        });
        Some(Self {
            turns,
            name: knob.name.value.clone(),
            pin: measure.pin.as_ref()?.pin.to_string(),
            ends: ENDS,
            play: PLAY,
            step: design.firmware.knob?.step,
        })
    }
}
