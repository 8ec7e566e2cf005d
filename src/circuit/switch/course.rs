//! What a pin does in time.

use super::{Charges, Level};
use crate::units::Seconds;

/// The pin is on, then off.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pulse {
    pub on: Seconds,
    /// Until the next pulse; zero: they run into one another.
    pub off: Seconds,
}

/// Pulses that come round for ever.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    pulses: Vec<Pulse>,
}

impl Course {
    /// Pulses without width, and pauses without length, are joined with what is beside them.
    pub fn new(pulses: impl IntoIterator<Item = Pulse>) -> Self {
        let mut joined: Vec<Pulse> = Vec::new();
        for pulse in pulses {
            match joined.last_mut() {
                Some(last) if pulse.on.0 <= 0.0 => last.off.0 += pulse.off.0,
                Some(last) if last.off.0 <= 0.0 => {
                    last.on.0 += pulse.on.0;
                    last.off = pulse.off;
                }
                _ => joined.push(pulse),
            }
        }
        Self { pulses: joined }
    }

    /// How long a round takes.
    pub fn length(&self) -> Seconds {
        let all = self.pulses.iter();
        Seconds(all.map(|pulse| pulse.on.0 + pulse.off.0).sum())
    }

    /// How long the pin is on in a round.
    pub fn on(&self) -> Seconds {
        Seconds(self.pulses.iter().map(|pulse| pulse.on.0).sum())
    }

    /// The light of a round, in seconds of full light, once rounds are alike.
    pub(super) fn settled<C: Charges>(&self, switch: &C) -> Seconds {
        let (state, _) = self.round(switch, C::State::default());
        let (_, light) = self.round(switch, state);
        Seconds(light)
    }

    fn round<C: Charges>(&self, switch: &C, mut state: C::State) -> (C::State, f64) {
        let mut light = 0.0;
        for pulse in &self.pulses {
            for (level, time) in [(Level::On, pulse.on.0), (Level::Off, pulse.off.0)] {
                let (next, lit) = if time > 0.0 {
                    switch.advance(state, level, time)
                } else {
                    (state, 0.0)
                };
                state = next;
                light += lit;
            }
        }
        (state, light)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pulse(on: f64, off: f64) -> Pulse {
        Pulse {
            on: Seconds(on),
            off: Seconds(off),
        }
    }

    #[test]
    fn what_has_no_length_is_joined() {
        let course = Course::new([
            pulse(1.0, 3.0),
            pulse(0.0, 4.0),
            pulse(4.0, 0.0),
            pulse(2.0, 2.0),
        ]);
        assert_eq!(course.pulses, [pulse(1.0, 7.0), pulse(6.0, 2.0)]);
        assert_eq!(
            (course.length(), course.on()),
            (Seconds(16.0), Seconds(7.0))
        );
    }
}
