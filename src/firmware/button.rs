//! The button in ticks.

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::Button;

/// When a press counts, and when it is a hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ButtonTicks {
    /// A press that was seen on more ticks than this is a tap.
    pub debounce: u16,
    /// One that was seen on this many is a hold.
    pub hold: u16,
}

impl ButtonTicks {
    pub fn new(button: &Button, tick: &Tick) -> Self {
        let ticks = |time| tick.count(time).ceil().clamp(1.0, 60_000.0) as u16;
        let debounce = ticks(button.debounce.value);
        // The count starts at 1 while the button is up.
        Self {
            debounce,
            hold: (ticks(button.hold.value) + 1).max(debounce + 2),
        }
    }

    /// Whether the count needs two bytes.
    pub fn is_wide(self) -> bool {
        self.hold > 255
    }
}
