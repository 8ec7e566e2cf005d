//! What comes in from outside: samples, a tick each, to events. What follows from an event is the conduct's.

pub mod button;
pub mod cells;
pub mod contact;
pub mod dimmer;
pub mod knob;
pub mod room;
pub mod switch;
#[cfg(test)]
mod testing;

use serde::Serialize;

/// The assembly of what is measured, by name.
pub const TEMPLATES: [(&str, &str); 1] = [(
    "measure.S",
    include_str!("../../templates/avr/measure.S.j2").trim_ascii_end(),
)];

/// What somebody did.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Event {
    /// The button was pressed and let go.
    Tap,
    /// The button was kept pressed.
    Hold,
    /// It was kept pressed for long.
    LongHold,
    /// A contact was closed, or a further button pressed, by its place among them.
    Closed(u8),
    /// The switch was turned: closed, or open.
    Turned(bool),
}

/// What is closed at a tick, and what is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sensed {
    pub button: bool,
    /// A bit for each contact.
    pub contacts: u8,
    pub switch: bool,
    /// What is measured of a knob: 0 to 255, all the way up.
    pub knob: u8,
    /// What is measured of the light around: 255 in the dark.
    pub room: u8,
    /// What is measured of the supply: the chip's reference as a share of it, which rises as cells fall.
    pub cells: u8,
}

impl Default for Sensed {
    fn default() -> Self {
        Self::REST
    }
}

impl Sensed {
    /// Nothing is closed, a knob is all the way up, it is dark, and cells are fresh.
    pub const REST: Self = Self {
        button: false,
        contacts: 0,
        switch: false,
        knob: u8::MAX,
        room: u8::MAX,
        cells: 0,
    };

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
