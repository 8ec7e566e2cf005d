//! The button in ticks.

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::Button;

/// When a press counts, when it is over, and when it is a hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ButtonTicks {
    /// A press whose contact was seen closed on so many ticks counts. It is over once the contact
    /// was seen open on so many in a row: a shorter gap is none.
    pub debounce: u16,
    /// One that was seen closed on this many is a hold.
    pub hold: u16,
}

impl ButtonTicks {
    pub fn new(button: &Button, tick: &Tick) -> Self {
        // What is seen n times in a row lasts for more than n - 1 ticks, so one more is surely as
        // long as the project wants.
        let ticks = |time| 1 + tick.count(time).ceil().clamp(1.0, 60_000.0) as u16;
        let debounce = ticks(button.debounce.value);
        Self {
            debounce,
            hold: ticks(button.hold.value).max(debounce + 1),
        }
    }

    /// Whether the count of a press, which starts from 1, needs two bytes.
    pub fn is_wide(self) -> bool {
        self.hold > 254
    }

    /// Whether the count of a gap does.
    pub fn has_wide_gap(self) -> bool {
        self.debounce > 255
    }
}
