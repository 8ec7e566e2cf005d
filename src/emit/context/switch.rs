//! The switch that chooses between shows.

use serde::Serialize;

use super::parts::between;
use crate::design::Design;
use crate::spec::ButtonTo;

/// For so long the firmware waits before it reads the switch for the first time: the weakest pull-up, 50 kohm
/// (electrical characteristics of the datasheets), has then charged the 100 nF at the leg to 80 %.
const SETTLES: f64 = 8e-3;

/// Cycles of a round of the wait in Rust, at the least.
const ROUND: f64 = 4.0;

#[derive(Debug, Serialize)]
pub(super) struct SwitchText {
    /// As the project calls it.
    name: String,
    #[serde(rename = "type")]
    kind: &'static str,
    /// The type of the count in Rust.
    count: &'static str,
    input: String,
    bit: u8,
    pin: String,
    /// The pin is high while it is closed.
    high: bool,
    debounce: u16,
    debounce_time: String,
    /// The first wait, in cycles and in rounds.
    settles: u32,
    rounds: u16,
}

impl SwitchText {
    /// `None`: there is none.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let ticks = design.firmware.switch?;
        let (written, pin) = (
            design.project.selector.as_ref()?,
            design.plan.selector.as_ref()?,
        );
        let cycles = SETTLES * design.plan.clock.frequency.0;
        let (kind, count) = match ticks.is_wide() {
            true => ("uint16_t", "u16"),
            false => ("uint8_t", "u8"),
        };
        Some(Self {
            name: written.name.value.clone(),
            kind,
            count,
            input: pin.input.clone(),
            bit: pin.pin.bit,
            pin: pin.pin.to_string(),
            high: written.to == ButtonTo::Supply,
            debounce: ticks.debounce,
            debounce_time: between(design, ticks.debounce),
            settles: cycles.ceil() as u32,
            rounds: (cycles / ROUND).ceil().clamp(1.0, u16::MAX.into()) as u16,
        })
    }
}
