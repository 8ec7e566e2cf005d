//! Dark, in the model of the light.

/// A light in standby, or at night.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Off {
    /// Ticks for which the button has been up since.
    up: u16,
    /// Ticks until the next evening. `None`: it is in standby.
    pub night: Option<u32>,
}

impl Off {
    pub(super) fn new(night: Option<u32>) -> Self {
        Self { up: 0, night }
    }

    /// A tick on: whether it is the last one, by the time or by a press. One that comes after the button was up for
    /// `debounce` counts. `None`: none does.
    pub(super) fn is_over(&mut self, button_down: bool, debounce: Option<u16>) -> bool {
        let pressed = button_down && debounce.is_some_and(|debounce| self.up >= debounce);
        self.up = match button_down {
            true => 0,
            false => debounce.unwrap_or(0).min(self.up + 1),
        };
        let over = self.night == Some(0);
        self.night = self.night.map(|night| night.saturating_sub(1));
        pressed || over
    }
}
