//! Dark, in the model of the light.

use crate::input::Sensed;
use crate::input::room::{Room, RoomTicks};

/// A light in standby, at night, or out.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Off {
    /// Ticks for which the button has been up since.
    up: u16,
    /// `None`: it is in standby, or out.
    pub night: Option<Night>,
    /// Nothing brings it back while there is power.
    pub for_good: bool,
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
    pub(super) fn new(night: Option<Night>) -> Self {
        Self {
            up: 0,
            night,
            for_good: false,
        }
    }

    pub(super) fn for_good() -> Self {
        Self {
            for_good: true,
            ..Self::default()
        }
    }

    /// A tick on: whether it is the last one, by the time or by a press. One that comes after the button was up for
    /// `debounce` counts. `None`: none does.
    pub(super) fn is_over(&mut self, sensed: Sensed, debounce: Option<u16>) -> bool {
        if self.for_good {
            return false;
        }
        let pressed = sensed.button && debounce.is_some_and(|debounce| self.up >= debounce);
        self.up = match sensed.button {
            true => 0,
            false => debounce.unwrap_or(0).min(self.up + 1),
        };
        let night = self.night.as_mut();
        let over = night.is_some_and(|night| night.is_over(sensed.room));
        pressed || over
    }
}
