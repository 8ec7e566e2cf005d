//! What a tick of the timer's clock does.

use super::{Counter, OnMatch, Shape, Top, flag};
use crate::verify::machine::moment::Moment;
use crate::verify::machine::pins::Pins;

impl Counter {
    /// One tick of the timer's clock: what the count was decides what happens, then it moves on.
    pub(super) fn tick(&mut self, at: Moment, pins: &mut Pins) {
        let mut matched = [false; flag::COMPARE.len()];
        if !std::mem::take(&mut self.blocked) {
            for (matched, channel) in matched.iter_mut().zip(&self.channels) {
                *matched = channel.compare == self.count;
            }
        }
        for (matched, compare_flag) in matched.into_iter().zip(flag::COMPARE) {
            if matched {
                self.raise(compare_flag, at);
            }
        }
        match self.shape {
            Shape::Plain => self.tick_plain(at, matched),
            Shape::Fast => self.tick_fast(at, matched, pins),
            Shape::PhaseCorrect | Shape::PhaseFrequencyCorrect => {
                self.tick_triangle(at, matched, pins);
            }
        }
        for channel in &mut self.channels {
            channel.show(at, pins);
        }
    }

    fn tick_plain(&mut self, at: Moment, matched: [bool; 3]) {
        let top = self.top();
        if self.count == self.max {
            self.raise(flag::OVERFLOW, at);
        }
        if self.count == top && self.top == Top::Limit {
            self.raise(flag::CAPTURE, at);
        }
        self.step_up(top);
        for (channel, _) in self
            .channels
            .iter_mut()
            .zip(matched)
            .filter(|(_, matched)| *matched)
        {
            channel.act(false);
        }
    }

    fn tick_fast(&mut self, at: Moment, matched: [bool; 3], pins: &mut Pins) {
        let top = self.top();
        let wraps = self.count == top || self.count == self.max;
        self.step_up(top);
        if wraps {
            self.raise(flag::OVERFLOW, at);
            if self.top == Top::Limit {
                self.raise(flag::CAPTURE, at);
            }
            self.mark_periods(at, pins);
        }
        for (channel, matched) in self.channels.iter_mut().zip(matched) {
            if wraps {
                channel.compare = channel.buffer;
            }
            let at_bottom = wraps && channel.on_match != OnMatch::Toggle;
            if at_bottom {
                // A match on the same tick loses: a compare value of TOP gives a constant level.
                channel.act(!(self.zero_is_off && channel.compare == 0));
            } else if matched {
                channel.act(false);
            }
        }
    }

    fn tick_triangle(&mut self, at: Moment, matched: [bool; 3], pins: &mut Pins) {
        let top = self.top();
        let leaves_top = !self.down && self.count >= top;
        let leaves_bottom = self.down && self.count == 0;
        let updates = match self.shape {
            Shape::PhaseCorrect => leaves_top,
            _ => leaves_bottom,
        };
        if leaves_top || leaves_bottom {
            self.down = leaves_top;
        }
        self.count = match self.down {
            true => self.count.saturating_sub(1),
            false => (self.count + 1).min(top),
        };
        if leaves_top && self.top == Top::Limit {
            self.raise(flag::CAPTURE, at);
        }
        if leaves_bottom {
            self.raise(flag::OVERFLOW, at);
            self.mark_periods(at, pins);
        }
        let down = self.down;
        for (channel, matched) in self.channels.iter_mut().zip(matched) {
            if updates {
                channel.compare = channel.buffer;
            }
            if channel.on_match == OnMatch::Toggle {
                if matched {
                    channel.act(false);
                }
            } else if updates {
                // The output takes the level of an up-counting match at TOP (and, by symmetry, of a
                // down-counting one at BOTTOM) even though there is no match, so that the pulse
                // stays symmetric; the extreme values give a constant level.
                channel.act(match leaves_top {
                    true => channel.compare >= top,
                    false => channel.compare != 0,
                });
            } else if matched {
                // On the way down a match switches on, but at BOTTOM a value of 0 stays off.
                channel.act(down);
            }
        }
    }

    fn step_up(&mut self, top: u16) {
        let wraps = self.count == top || self.count == self.max;
        self.count = if wraps { 0 } else { self.count + 1 };
    }
}
