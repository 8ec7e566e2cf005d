//! What comes in from outside: samples, a tick each, to events. What follows from an event is the conduct's.

pub mod button;
pub mod contact;
pub mod switch;

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
    /// A contact was closed, by its place among them.
    Closed(u8),
    /// The switch was turned: closed, or open.
    Turned(bool),
}

/// What is closed at a tick.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Sensed {
    pub button: bool,
    /// A bit for each contact.
    pub contacts: u8,
    pub switch: bool,
}

impl Sensed {
    pub fn is_closed(self, contact: u8) -> bool {
        self.contacts & 1 << contact != 0
    }
}

/// The button down or up, and nothing else closed.
impl From<bool> for Sensed {
    fn from(button: bool) -> Self {
        Self {
            button,
            ..Self::default()
        }
    }
}
