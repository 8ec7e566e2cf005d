//! Fast PWM, a period at a time. Its compare values change at BOTTOM alone, so that until the next
//! BOTTOM every edge is known; nobody needs to be there when it comes.

use super::{Counter, OnMatch, Shape, Top, flag};
use crate::verify::machine::moment::Moment;
use crate::verify::machine::pins::Pins;

/// The flags that rise on another tick than the last of a period.
const WITHIN: u8 = flag::COMPARE[0] | flag::COMPARE[1] | flag::COMPARE[2];

impl Counter {
    /// Whether all that happens until the next BOTTOM is certain, and nobody wants to be told of it.
    pub(super) fn is_foreseeable(&self) -> bool {
        self.shape == Shape::Fast
            && !self.blocked
            && !self.observed
            && self.enabled & WITHIN == 0
            && self.count <= self.top()
            && self.channels.iter().all(|c| c.on_match != OnMatch::Toggle)
    }

    /// Runs on until the last BOTTOM that comes up to and including `to`; there is one.
    pub(super) fn finish_periods(&mut self, to: Moment, pins: &mut Pins) {
        while self.due <= to {
            let bottom = self.due;
            self.finish_period(bottom, pins);
            self.synced = bottom;
            self.due = bottom + (u64::from(self.top()) + 1) * u64::from(self.division);
        }
        if self.enabled != 0 {
            self.next_flag = self.due;
        }
    }

    /// The rest of a period, and the BOTTOM that ends it.
    fn finish_period(&mut self, bottom: Moment, pins: &mut Pins) {
        let (count, top) = (self.count, self.top());
        self.count = 0;
        for (index, flag) in (0..self.channels.len()).zip(flag::COMPARE) {
            let channel = &mut self.channels[index];
            let matched = (count..=top).contains(&channel.compare).then(|| {
                let ticks = u64::from(top - channel.compare);
                Moment(bottom.0 - ticks * u64::from(self.division))
            });
            // On the last tick BOTTOM wins: a compare value of TOP gives a constant level.
            let within = matched.filter(|at| *at < bottom);
            channel.compare = channel.buffer;
            let begins = !(self.zero_is_off && channel.compare == 0);
            channel.turn(within, bottom, begins, pins);
            if let Some(at) = matched {
                self.raise(flag, at);
            }
        }
        self.raise(flag::OVERFLOW, bottom);
        if self.top == Top::Limit {
            self.raise(flag::CAPTURE, bottom);
        }
    }
}
