//! The charge pump's clock: two pins in opposite phase.

use super::pwm;
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::ChargePump;
use crate::target::{PortPin, Toggle};
use crate::units::{Cycles, Hertz};

/// How the pump is clocked.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpPlan {
    pub pins: [PortPin; 2],
    pub clock: Hertz,
    /// From one change of the pins to the next, on average.
    pub half: Cycles,
    pub by: PumpBy,
}

/// What changes the pins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PumpBy {
    /// The overflow interrupt of the light's timers.
    Interrupt(Toggling),
    /// The interrupt of a timer that has nothing else to do.
    Spare(Toggling),
    /// Such a timer without an interrupt; the pins are outputs of it, one of them inverted.
    Timer,
}

/// Pins that toggle in an interrupt. The first starts high, the second low.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Toggling {
    /// Both pins.
    pub mask: u8,
    /// Once every so many overflows, a power of two.
    pub every: u8,
    /// What `mask` is written to.
    pub toggle: Toggle,
    /// Both are on the port that shows the light, with which they are written.
    pub within: bool,
}

impl PumpPlan {
    /// Where an interrupt does it.
    pub fn toggling(&self) -> Option<&Toggling> {
        match &self.by {
            PumpBy::Interrupt(toggling) | PumpBy::Spare(toggling) => Some(toggling),
            PumpBy::Timer => None,
        }
    }
}

/// Cautions where the clock that was chosen is not what the project asked for; `others`: what can be had.
pub(super) fn compare(asked: &ChargePump, clock: Hertz, others: String, notes: &mut Notes) {
    let unmet = |wish| pwm::unmet("the charge pump runs", clock, wish);
    if let Some(message) = asked.clock.and_then(|wish| unmet(wish.value)) {
        notes.add(
            Diagnostic::caution("C032", asked.span, message)
                .label("this is the nearest it can be")
                .hint(others),
        );
    }
}
