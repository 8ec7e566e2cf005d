//! The one button: when a press counts, and what it is.

mod press;

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::Button;
use crate::target::Wanted;

pub use press::Press;

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

    /// What it counts in.
    pub fn variables(self) -> [Wanted; 2] {
        let pressed = "ticks for which the button is down";
        let gap = "ticks for which it is up since";
        [
            Wanted::new("pressed", self.is_wide(), pressed).cleared(true),
            Wanted::new("gap", self.has_wide_gap(), gap).cleared(true),
        ]
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
