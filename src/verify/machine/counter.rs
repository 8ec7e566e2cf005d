//! The counting part of a timer and its compare outputs, tick by tick as the datasheets describe
//! them (sections 'Modes of Operation', 'Compare Match Output Unit' and 'Timing Diagrams' of the
//! 8-bit and 16-bit timers). Ticks on which nothing happens are skipped in one go.
//!
//! On-time, in timer ticks of a period, for a compare value v and a TOP of T, non-inverting:
//! fast PWM v + 1 of T + 1, phase-correct 2v of 2T; inverting, the rest. So v = 0 in non-inverting
//! fast PWM is a spike of one tick, and v = T in inverting fast PWM is exactly dark.

use super::compare::{Channel, OnMatch};
use super::moment::Moment;
use super::pins::Pins;
use super::prescaler::Prescaler;

/// How the counter runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Shape {
    /// Normal and CTC: up to TOP, compare values written directly.
    #[default]
    Plain,
    /// Up to TOP; compare values change at BOTTOM.
    Fast,
    /// Up and down; compare values change at TOP.
    PhaseCorrect,
    /// Up and down; compare values change at BOTTOM.
    PhaseFrequencyCorrect,
}

/// Where the counter turns round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Top {
    Fixed(u16),
    /// The compare register of channel A.
    CompareA,
    /// ICR, or OCR1C of the high-speed timer: not buffered.
    Limit,
}

/// Interrupt flags of a timer, one bit each.
pub(super) mod flag {
    pub const OVERFLOW: u8 = 1;
    pub const COMPARE: [u8; 3] = [2, 4, 8];
    pub const CAPTURE: u8 = 16;
    pub const COUNT: usize = 5;
}

#[derive(Debug)]
pub(super) struct Counter {
    pub channels: Vec<Channel>,
    pub shape: Shape,
    pub top: Top,
    /// ICR or OCR1C.
    pub limit: u16,
    /// Largest count there is.
    pub max: u16,
    /// In fast PWM a compare value of 0 keeps the output at its off level (high-speed timer).
    pub zero_is_off: bool,
    /// System clocks a tick; 0 while stopped.
    pub division: u32,

    pub flags: u8,
    /// The flags whose interrupt is enabled.
    pub enabled: u8,
    /// When each flag was last raised, and how often it was raised again before it was served.
    pub raised_at: [Moment; flag::COUNT],
    pub missed: [u64; flag::COUNT],

    count: u16,
    down: bool,
    /// A write to the counter blocks a match on the tick that follows.
    blocked: bool,
    /// When the count was `count`.
    synced: Moment,
    /// Nothing happens before this moment, so that the count need not be brought up to date.
    next_event: Moment,
    /// No enabled flag rises before this moment; one may rise then.
    next_flag: Moment,
}

impl Counter {
    pub fn new(max: u16, channels: Vec<Channel>) -> Self {
        Self {
            channels,
            shape: Shape::Plain,
            top: Top::Fixed(max),
            limit: 0,
            max,
            zero_is_off: false,
            division: 0,
            flags: 0,
            enabled: 0,
            raised_at: [Moment(0); flag::COUNT],
            missed: [0; flag::COUNT],
            count: 0,
            down: false,
            blocked: false,
            synced: Moment(0),
            next_event: Moment(0),
            next_flag: Moment(0),
        }
    }

    /// The counter's value; [`settle`](Self::settle) first.
    pub fn count(&self) -> u16 {
        self.count
    }

    pub fn set_count(&mut self, count: u16) {
        self.count = count;
        self.blocked = true;
    }

    pub fn top(&self) -> u16 {
        match self.top {
            Top::Fixed(top) => top,
            Top::CompareA => self.channels[0].compare,
            Top::Limit => self.limit,
        }
    }

    /// Writes a compare value: at once, or to wait for its update.
    pub fn set_compare(&mut self, channel: usize, value: u16) {
        let plain = self.shape == Shape::Plain;
        let channel = &mut self.channels[channel];
        channel.buffer = value;
        if plain {
            channel.compare = value;
        }
    }

    /// Changes how it counts; buffers are transparent while it counts plainly.
    pub fn set_mode(&mut self, shape: Shape, top: Top) {
        if matches!(shape, Shape::Plain | Shape::Fast) {
            self.down = false;
        }
        (self.shape, self.top) = (shape, top);
        if shape == Shape::Plain {
            self.channels
                .iter_mut()
                .for_each(|channel| channel.compare = channel.buffer);
        }
    }

    /// Forces a match, which acts on the output but raises no flag (FOC).
    pub fn force_match(&mut self, channel: usize, at: Moment, pins: &mut Pins) {
        let channel = &mut self.channels[channel];
        channel.act(false);
        channel.show(at, pins);
    }

    /// Brings every compare output's connection to its pin up to date.
    pub fn connect(&mut self, at: Moment, pins: &mut Pins) {
        for channel in &mut self.channels {
            channel.connect(at, pins);
        }
    }

    /// Starts or stops the recorded periods of its pins.
    pub fn mark_periods(&self, at: Moment, pins: &mut Pins) {
        for claim in self
            .channels
            .iter()
            .flat_map(|c| [c.output, c.complement])
            .flatten()
        {
            if self.division == 0 {
                pins.end_periods(claim);
            } else {
                pins.turn_period(claim, at);
            }
        }
    }

    /// Lets everything happen up to and including `to`. The count itself may lag behind: before it is
    /// read, or how it runs is changed, [`settle`](Self::settle).
    #[inline]
    pub fn advance(&mut self, to: Moment, prescaler: &Prescaler, pins: &mut Pins) {
        if to >= self.next_event {
            self.settle(to, prescaler, pins);
        }
    }

    /// Runs up to and including `to`.
    pub fn settle(&mut self, to: Moment, prescaler: &Prescaler, pins: &mut Pins) {
        if self.division != 0 {
            let mut cursor = self.synced;
            let mut ticks = prescaler.ticks_between(self.division, cursor, to);
            while ticks > 0 {
                let event = self.ticks_to_event(u8::MAX);
                if event > ticks {
                    self.coast(ticks);
                    break;
                }
                self.coast(event - 1);
                ticks -= event;
                cursor = prescaler.tick_after(self.division, cursor, event);
                self.tick(cursor, pins);
            }
        }
        self.synced = to;
        self.look_ahead(prescaler);
    }

    /// No enabled flag rises before this moment; one may rise then.
    #[inline]
    pub fn next_flag(&self) -> Moment {
        self.next_flag
    }

    /// Works out anew when something happens next: after every change of how it runs.
    pub fn look_ahead(&mut self, prescaler: &Prescaler) {
        (self.next_event, self.next_flag) = (Moment::NEVER, Moment::NEVER);
        if self.division != 0 {
            let after = |ticks| prescaler.tick_after(self.division, self.synced, ticks);
            self.next_event = after(self.ticks_to_event(u8::MAX));
            if self.enabled != 0 {
                self.next_flag = after(self.ticks_to_event(self.enabled));
            }
        }
    }

    /// Ticks until something happens: the counter turns round, or reaches the compare value of a
    /// channel among `flags`. Always at least 1.
    #[inline]
    fn ticks_to_event(&self, flags: u8) -> u64 {
        let count = self.count;
        let turn = match (self.down, self.top()) {
            (true, _) => 0,
            (false, top) if count <= top => top,
            // TOP was lowered below the count: a sawtooth runs on to MAX, a triangle turns at once.
            (false, _) if matches!(self.shape, Shape::Plain | Shape::Fast) => self.max,
            (false, _) => count,
        };
        let mut ticks = count.abs_diff(turn);
        for (channel, compare_flag) in self.channels.iter().zip(flag::COMPARE) {
            let ahead = if self.down {
                channel.compare <= count
            } else {
                channel.compare >= count
            };
            let masked = self.blocked && channel.compare == count;
            if ahead && !masked && flags & compare_flag != 0 {
                ticks = ticks.min(count.abs_diff(channel.compare));
            }
        }
        u64::from(ticks) + 1
    }

    /// Counts `ticks` on which nothing else happens.
    fn coast(&mut self, ticks: u64) {
        if ticks > 0 {
            self.blocked = false;
            let ticks = ticks as u16;
            self.count = if self.down {
                self.count - ticks
            } else {
                self.count + ticks
            };
        }
    }

    /// One tick of the timer's clock: what the count was decides what happens, then it moves on.
    fn tick(&mut self, at: Moment, pins: &mut Pins) {
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

    fn raise(&mut self, flag: u8, at: Moment) {
        let index = flag.trailing_zeros() as usize;
        if self.flags & self.enabled & flag != 0 {
            self.missed[index] += 1;
        } else if self.flags & flag == 0 {
            self.raised_at[index] = at;
        }
        self.flags |= flag;
    }
}

#[cfg(test)]
mod tests;
