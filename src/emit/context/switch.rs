//! The switch that chooses between shows.

use serde::Serialize;

use super::watched::WatchedText;
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
    #[serde(flatten)]
    watched: WatchedText,
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
        Some(Self {
            name: written.name.value.clone(),
            watched: WatchedText::new(
                design,
                pin,
                ticks.is_wide(),
                written.to == ButtonTo::Supply,
                ticks.debounce,
            ),
            settles: cycles.ceil() as u32,
            rounds: (cycles / ROUND).ceil().clamp(1.0, u16::MAX.into()) as u16,
        })
    }
}
