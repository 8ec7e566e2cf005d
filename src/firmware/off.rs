//! Dark, in the model of the light.

use crate::input::Sensed;
use crate::input::room::{Room, RoomTicks};

/// A light that is off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Off {
    /// Ticks for which the button has been up since.
    up: u16,
    pub until: Until,
}

/// What brings it back.
#[derive(Debug, Clone, Copy)]
pub(super) enum Until {
    /// In standby, a press.
    Pressed,
    /// A press too, or the end of the night.
    Night(Night),
    /// New cells, which bring their power.
    Changed,
}

/// When the next evening begins.
#[derive(Debug, Clone, Copy)]
pub(super) enum Night {
    /// After so many ticks.
    Passes(u32),
    /// When it is dark around; and before that bright, if it was not.
    Dusk {
        rules: RoomTicks,
        room: Room,
        was_bright: bool,
    },
}

impl Night {
    /// A tick on, with so much measured of the light around; whether it is the last one.
    fn is_over(&mut self, measured: u8) -> bool {
        match self {
            Self::Passes(ticks) => {
                let over = *ticks == 0;
                *ticks = ticks.saturating_sub(1);
                over
            }
            Self::Dusk {
                rules,
                room,
                was_bright: true,
            } => room.is_dark(measured, *rules),
            Self::Dusk {
                rules,
                room,
                was_bright,
            } => {
                *was_bright = room.was_bright(measured, *rules);
                false
            }
        }
    }
}

impl Off {
    pub(super) fn new(until: Until) -> Self {
        Self { up: 0, until }
    }

    /// A tick on: whether it is the last one, by the time or by a press. One that comes after the button was up for
    /// `debounce` counts. `None`: none does.
    pub(super) fn is_over(&mut self, sensed: Sensed, debounce: Option<u16>) -> bool {
        let pressed = sensed.button && debounce.is_some_and(|debounce| self.up >= debounce);
        self.up = match sensed.button {
            true => 0,
            false => debounce.unwrap_or(0).min(self.up + 1),
        };
        match &mut self.until {
            Until::Pressed => pressed,
            // The night passes, whether it is pressed or not.
            Until::Night(night) => night.is_over(sensed.room) || pressed,
            Until::Changed => false,
        }
    }
}
