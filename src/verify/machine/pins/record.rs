//! What is recorded of a pin.

use crate::verify::machine::moment::Moment;
use crate::verify::machine::pin::Pin;

/// What a pin puts out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Level {
    /// It is an input: nothing drives it (a pull-up may hold it high).
    #[default]
    Released,
    Low,
    High,
}

/// A change of what a pin puts out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Edge {
    pub at: Moment,
    pub pin: Pin,
    pub level: Level,
}

/// One period of a timer as seen at the pin of one of its compare outputs, from BOTTOM to BOTTOM.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Period {
    pub pin: Pin,
    pub start: Moment,
    /// Cycles from BOTTOM to BOTTOM.
    pub length: u32,
    /// Cycles for which the pin was high; exact, whatever happened in between.
    pub high: u32,
    /// Changes of the pin within the period, its start included. A regular pulse makes two, a
    /// constant level none; more are a glitch.
    pub edges: u32,
}

/// What is recorded of each pin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Watch {
    pub edges: bool,
    pub periods: bool,
}
