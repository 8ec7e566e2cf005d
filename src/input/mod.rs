//! What comes in from outside: samples, a tick each, to events. What follows from an event is the conduct's.

pub mod button;

use serde::Serialize;

/// What somebody did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Event {
    /// The button was pressed and let go.
    Tap,
    /// The button was kept pressed.
    Hold,
    /// It was kept pressed for long.
    LongHold,
}
