//! A switch: when it counts as turned.

mod turn;

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::Selector;
use crate::target::Wanted;

pub use turn::Turning;

/// When a switch counts as turned: once it was seen the other way on so many ticks in a row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SwitchTicks {
    pub debounce: u16,
}

impl SwitchTicks {
    pub fn new(selector: &Selector, tick: &Tick) -> Self {
        let ticks = tick.looks(selector.debounce.value);
        Self {
            debounce: ticks.clamp(2.0, 60_000.0) as u16,
        }
    }

    /// What it counts in.
    pub fn variable(self) -> Wanted {
        let note = "ticks for which the switch is the other way";
        Wanted::new("turned", self.is_wide(), note).cleared(true)
    }

    /// Whether the count needs two bytes.
    pub fn is_wide(self) -> bool {
        self.debounce > 255
    }
}
