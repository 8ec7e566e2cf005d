//! The light of a pin that the player itself switches: it changes while a tick is worked out whose duty is
//! another, once, and at no other time.

use super::machine::{Edge, Level, Moment, Pin};
use super::{LightFault, LightSeen};
use crate::spec::Active;
use crate::units::Duty;

/// Follows one channel.
pub(super) struct LatchLight {
    pin: Pin,
    active: Active,
    /// What it shows, and since when.
    duty: Duty,
    since: Moment,
    seen: LightSeen,
}

impl LatchLight {
    /// Follows a channel whose pin became an output when it was `driven`.
    pub(super) fn new(pin: Pin, active: Active, driven: Moment) -> Self {
        Self {
            pin,
            active,
            duty: Duty(0),
            since: driven,
            seen: LightSeen::default(),
        }
    }

    /// The duty that it was put to before its pin became an output.
    pub(super) fn put(&mut self, duty: Duty) {
        self.duty = duty;
    }

    /// Takes what happened up to the end of a tick that was worked out from `begun` to `done` and came to `duty`.
    pub(super) fn tick(
        &mut self,
        edges: &[Edge],
        begun: Moment,
        done: Moment,
        duty: Duty,
    ) -> Result<(), (Moment, Duty, LightFault)> {
        let own = edges.iter().filter(|edge| edge.pin == self.pin);
        let own: Vec<Edge> = own.filter(|edge| edge.at > self.since).copied().collect();
        let glitch = |at| {
            let edges = own.len() as u32;
            Err((at, duty, LightFault::Glitch { edges }))
        };
        let changed = match own.as_slice() {
            [] if duty == self.duty => done,
            [edge] if duty != self.duty && (begun..=done).contains(&edge.at) => {
                let lit = match self.active {
                    Active::High => edge.level == Level::High,
                    Active::Low => edge.level == Level::Low,
                };
                if lit != (duty > Duty(0)) {
                    return glitch(edge.at);
                }
                edge.at
            }
            others => return glitch(others.first().map_or(begun, |edge| edge.at)),
        };
        self.pass(changed);
        self.duty = duty;
        self.pass(done);
        self.seen.periods += 1;
        self.seen.steady += 1;
        Ok(())
    }

    fn pass(&mut self, until: Moment) {
        let time = until - self.since;
        self.seen.elapsed += time;
        self.seen.lit += if self.duty > Duty(0) { time } else { 0 };
        self.since = until;
    }

    pub(super) fn seen(&self) -> LightSeen {
        self.seen
    }
}
