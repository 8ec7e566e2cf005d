//! The model of a press, with the firmware's rules.

use super::ButtonTicks;
use crate::input::Event;

/// How long the button is down, and how long it has been up since.
#[derive(Debug, Clone, Copy, Default)]
pub struct Press {
    /// Ticks for which it is down, and one more; 0: it has had its effect. So a button that is down at
    /// power-up does nothing until it is let go.
    held: u16,
    gap: u16,
}

impl Press {
    /// One tick on, with the contact closed or not.
    pub fn watch(&mut self, down: bool, ticks: ButtonTicks) -> Option<Event> {
        let held = self.held;
        if !down {
            self.gap += 1;
            if self.gap < ticks.debounce {
                return None;
            }
            (self.gap, self.held) = (ticks.debounce, 1);
            return match ticks.long {
                _ if held <= ticks.debounce => None,
                Some(_) if held > ticks.hold => Some(Event::Hold),
                _ => Some(Event::Tap),
            };
        }
        self.gap = 0;
        if held == 0 {
            return None;
        }
        self.held = held + 1;
        let (most, event) = match ticks.long {
            Some(long) => (long, Event::LongHold),
            None => (ticks.hold, Event::Hold),
        };
        if self.held <= most {
            return None;
        }
        self.held = 0;
        Some(event)
    }
}
