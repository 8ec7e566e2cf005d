//! The master level: how far the light is up while one scene gives way to another.

use super::FadeStep;
use crate::input::knob::Gain;
use crate::units::Level;

/// From 0, dark, to 65 535, all there; the firmware's arithmetic.
#[derive(Debug, Clone, Copy)]
pub struct Master {
    step: u16,
    level: u16,
}

impl Master {
    pub fn dark(step: FadeStep) -> Self {
        Self {
            step: step.0,
            level: 0,
        }
    }

    pub fn full(step: FadeStep) -> Self {
        Self {
            level: u16::MAX,
            ..Self::dark(step)
        }
    }

    pub fn is_full(self) -> bool {
        self.level == u16::MAX
    }

    /// Up to what a knob lets through.
    fn full_of(gain: Gain) -> u16 {
        u16::from_le_bytes([u8::MAX, gain.0])
    }

    /// A level as it lets it through: levels are scaled, not light.
    pub fn dim(self, level: Level) -> Level {
        let [_, high] = self.level.to_le_bytes();
        Gain(high).dim(level)
    }

    /// One tick up, or down to what a knob lets through.
    pub fn rise(&mut self, gain: Gain) {
        let full = Self::full_of(gain);
        self.level = full.min(self.level.saturating_add(self.step));
    }

    /// One tick down; whether it is dark now.
    pub fn sink(&mut self) -> bool {
        let sinks = self.level > self.step;
        self.level = if sinks { self.level - self.step } else { 0 };
        !sinks
    }
}
