//! The counting part of a timer and its compare outputs, tick by tick as the datasheets describe
//! them (sections 'Modes of Operation', 'Compare Match Output Unit' and 'Timing Diagrams' of the
//! 8-bit and 16-bit timers). What a tick does is in `tick`, when something happens next in `course`.
//! Ticks on which nothing happens are skipped in one go, and of fast PWM a whole period at a time is
//! worked out (`fast`).
//!
//! On-time, in timer ticks of a period, for a compare value v and a TOP of T, non-inverting:
//! fast PWM v + 1 of T + 1, phase-correct 2v of 2T; inverting, the rest. So v = 0 in non-inverting
//! fast PWM is a spike of one tick, and v = T in inverting fast PWM is exactly dark.

mod course;
mod fast;
#[cfg(test)]
mod tests;
mod tick;

use super::compare::{Channel, OnMatch};
use super::moment::Moment;
use super::pins::Pins;

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
    pub(crate) const OVERFLOW: u8 = 1;
    pub(crate) const COMPARE: [u8; 3] = [2, 4, 8];
    pub(crate) const CAPTURE: u8 = 16;
    pub(crate) const COUNT: usize = 5;
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
    /// An enabled interrupt goes by the level at one of its pins.
    pub observed: bool,
    /// When each flag was last raised, and how often it was raised again before it was served.
    pub raised_at: [Moment; flag::COUNT],
    pub missed: [u64; flag::COUNT],

    count: u16,
    down: bool,
    /// A write to the counter blocks a match on the tick that follows.
    blocked: bool,
    /// When the count was `count`.
    synced: Moment,
    /// Before this moment no compare value changes and nobody is told anything.
    due: Moment,
    /// All that happens until it is due is certain now: see `fast`.
    foreseen: bool,
    /// No enabled flag rises before this moment; one may rise then.
    next_flag: Moment,
}

impl Counter {
    pub(super) fn new(max: u16, channels: Vec<Channel>) -> Self {
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
            observed: false,
            raised_at: [Moment(0); flag::COUNT],
            missed: [0; flag::COUNT],
            count: 0,
            down: false,
            blocked: false,
            synced: Moment(0),
            due: Moment(0),
            foreseen: false,
            next_flag: Moment(0),
        }
    }

    /// The counter's value; [`settle`](Self::settle) first.
    pub(super) fn count(&self) -> u16 {
        self.count
    }

    pub(super) fn set_count(&mut self, count: u16) {
        self.count = count;
        self.blocked = true;
    }

    pub(super) fn top(&self) -> u16 {
        match self.top {
            Top::Fixed(top) => top,
            Top::CompareA => self.channels[0].compare,
            Top::Limit => self.limit,
        }
    }

    /// Writes a compare value: at once, or to wait for its update.
    pub(super) fn set_compare(&mut self, channel: u8, value: u16) {
        let plain = self.shape == Shape::Plain;
        let channel = &mut self.channels[usize::from(channel)];
        channel.buffer = value;
        if plain {
            channel.compare = value;
        }
    }

    /// The compare value last written.
    pub(super) fn buffered(&self, channel: u8) -> u16 {
        self.channels[usize::from(channel)].buffer
    }

    /// Changes how it counts; buffers are transparent while it counts plainly.
    pub(super) fn set_mode(&mut self, shape: Shape, top: Top) {
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
    pub(super) fn force_match(&mut self, channel: usize, at: Moment, pins: &mut Pins) {
        let channel = &mut self.channels[channel];
        channel.act(false);
        channel.show(at, pins);
    }

    /// Brings every compare output's connection to its pin up to date.
    pub(super) fn connect(&mut self, at: Moment, pins: &mut Pins) {
        for channel in &mut self.channels {
            channel.connect(at, pins);
        }
    }

    /// For so many cycles it stood still, with the clock.
    pub(super) fn skip(&mut self, cycles: u64) {
        self.synced += cycles;
    }

    /// The periods at its pins are no longer recorded, until the next one begins.
    pub(super) fn end_periods(&self, pins: &mut Pins) {
        let channels = self.channels.iter();
        let claims = channels.flat_map(|channel| [channel.output, channel.complement]);
        for claim in claims.flatten() {
            pins.end_periods(claim);
        }
    }

    /// Starts or stops the recorded periods of its pins.
    pub(super) fn mark_periods(&self, at: Moment, pins: &mut Pins) {
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
