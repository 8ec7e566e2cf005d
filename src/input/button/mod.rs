//! The one button: when a press counts, and what it is.

mod press;

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::Button;
use crate::target::Wanted;
use crate::units::Time;

pub use press::Press;

/// When a press counts, when it is over, and when it is a hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ButtonTicks {
    /// A press whose contact was seen closed on so many ticks counts. It is over once the contact
    /// was seen open on so many in a row: a shorter gap is none.
    pub debounce: u16,
    /// One that was seen closed on this many is a hold.
    pub hold: u16,
    /// One that was seen closed on this many is a long hold, and a hold is known by its end. `None`: there is
    /// no such thing.
    pub long: Option<u16>,
}

impl ButtonTicks {
    /// `long`: what a press must last to be a long hold. With that and nothing that `holds` lead to, all that is
    /// shorter is a tap.
    pub fn new(button: &Button, long: Option<Time>, holds: bool, tick: &Tick) -> Self {
        let ticks = |time| tick.looks(time).clamp(2.0, 60_001.0) as u16;
        let debounce = ticks(button.debounce.value);
        let hold = ticks(button.hold.value).max(debounce + 1);
        let long = long.map(|long| ticks(long).max(hold + 1));
        Self {
            debounce,
            hold: long.filter(|_| !holds).unwrap_or(hold),
            long,
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
        self.long.unwrap_or(self.hold) > 254
    }

    /// Whether the count of a gap does.
    pub fn has_wide_gap(self) -> bool {
        self.debounce > 255
    }
}
