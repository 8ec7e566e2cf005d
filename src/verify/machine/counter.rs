//! The counting part of a timer and its compare outputs, tick by tick as the datasheets describe
//! them (sections 'Modes of Operation', 'Compare Match Output Unit' and 'Timing Diagrams' of the
//! 8-bit and 16-bit timers). Ticks on which nothing happens are skipped in one go.
//!
//! On-time, in timer ticks of a period, for a compare value v and a TOP of T, non-inverting:
//! fast PWM v + 1 of T + 1, phase-correct 2v of 2T; inverting, the rest. So v = 0 in non-inverting
//! fast PWM is a spike of one tick, and v = T in inverting fast PWM is exactly dark.

use super::moment::Moment;
use super::pins::{Claim, Pins};
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

/// What a compare match does to the output; in the PWM shapes BOTTOM, or the way down, does the
/// opposite of `Clear` and `Set`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum OnMatch {
    /// The output is not connected to its pin.
    #[default]
    Nothing,
    Toggle,
    Clear,
    Set,
}

/// Interrupt flags of a timer, one bit each.
pub(super) mod flag {
    pub const OVERFLOW: u8 = 1;
    pub const COMPARE: [u8; 3] = [2, 4, 8];
    pub const CAPTURE: u8 = 16;
    pub const COUNT: usize = 5;
}

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Channel {
    pub output: Option<Claim>,
    pub complement: Option<Claim>,
    /// The value compared with.
    pub compare: u16,
    /// The value last written, which waits for its update in the PWM shapes.
    pub buffer: u16,
    pub on_match: OnMatch,
    pub complement_connected: bool,
    /// The compare output register (OC).
    pub level: bool,
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
    synced: Moment,
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
        }
    }

    /// The counter's value; [`advance`](Self::advance) first.
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
    pub fn connect(&self, at: Moment, pins: &mut Pins) {
        for channel in &self.channels {
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

    /// Runs up to and including `to`.
    #[inline]
    pub fn advance(&mut self, to: Moment, prescaler: &Prescaler, pins: &mut Pins) {
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
    }

    /// No enabled flag rises before this moment; one may rise then.
    #[inline]
    pub fn next_flag(&self, prescaler: &Prescaler) -> Moment {
        if self.division == 0 || self.enabled == 0 {
            return Moment::NEVER;
        }
        prescaler.tick_after(
            self.division,
            self.synced,
            self.ticks_to_event(self.enabled),
        )
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
        let matched: [bool; 3] = std::array::from_fn(|index| {
            !self.blocked
                && self
                    .channels
                    .get(index)
                    .is_some_and(|c| c.compare == self.count)
        });
        for (matched, compare_flag) in matched.into_iter().zip(flag::COMPARE) {
            if matched {
                self.raise(compare_flag, at);
            }
        }
        self.blocked = false;
        match self.shape {
            Shape::Plain => self.tick_plain(at, matched),
            Shape::Fast => self.tick_fast(at, matched, pins),
            Shape::PhaseCorrect | Shape::PhaseFrequencyCorrect => {
                self.tick_triangle(at, matched, pins);
            }
        }
        for channel in &self.channels {
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

impl Channel {
    /// What a match does, or with `opposite` what BOTTOM or a match on the way down does.
    fn act(&mut self, opposite: bool) {
        self.level = match self.on_match {
            OnMatch::Nothing => self.level,
            OnMatch::Toggle => !self.level,
            OnMatch::Clear => opposite,
            OnMatch::Set => !opposite,
        };
    }

    /// Puts the output's level on its pins, if it is connected.
    #[inline]
    fn show(&self, at: Moment, pins: &mut Pins) {
        if self.on_match != OnMatch::Nothing {
            self.connect(at, pins);
        }
    }

    fn connect(&self, at: Moment, pins: &mut Pins) {
        let connected = self.on_match != OnMatch::Nothing;
        if let Some(output) = self.output {
            pins.set_compare(output, connected.then_some(self.level), at);
        }
        if let Some(complement) = self.complement {
            let level = (connected && self.complement_connected).then_some(!self.level);
            pins.set_compare(complement, level, at);
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::verify::machine::pins::{Period, Watch};

    const PIN: &str = "PB2";

    /// A counter with its one output at a driven pin.
    struct Bench {
        counter: Counter,
        pins: Pins,
        prescaler: Prescaler,
    }

    impl Bench {
        fn new(shape: Shape, top: u16, on_match: OnMatch, division: u32) -> Self {
            let mut pins = Pins::new();
            let pin = PIN.parse().unwrap();
            let output = Some(pins.claim(pin));
            pins.write_directions(1, 0xFF, Moment(0));
            pins.watch(
                pin,
                Watch {
                    edges: true,
                    periods: true,
                },
            );
            let channel = Channel {
                output,
                on_match,
                ..Channel::default()
            };
            let mut counter = Counter::new(0xFFFF, vec![channel]);
            counter.set_mode(shape, Top::Fixed(top));
            counter.division = division;
            counter.enabled = 0xFF;
            Self {
                counter,
                pins,
                prescaler: Prescaler::default(),
            }
        }

        fn run(&mut self, to: u64) {
            self.counter
                .advance(Moment(to), &self.prescaler, &mut self.pins);
        }

        fn periods(&mut self) -> Vec<Period> {
            self.pins.take_periods()
        }
    }

    fn pwm_shape() -> impl Strategy<Value = Shape> {
        prop_oneof![
            Just(Shape::Fast),
            Just(Shape::PhaseCorrect),
            Just(Shape::PhaseFrequencyCorrect)
        ]
    }

    fn shape() -> impl Strategy<Value = Shape> {
        prop_oneof![Just(Shape::Plain), pwm_shape()]
    }

    fn on_match() -> impl Strategy<Value = OnMatch> {
        prop_oneof![
            Just(OnMatch::Toggle),
            Just(OnMatch::Clear),
            Just(OnMatch::Set)
        ]
    }

    proptest! {
        /// The datasheets' formulas for on-time and period, whatever the numbers.
        #[test]
        fn steady_periods_follow_the_formulas(
            shape in pwm_shape(),
            top in 3u16..600,
            share in 0.0..1.0f64,
            inverting: bool,
            division in prop_oneof![Just(1u32), Just(8), Just(64)],
        ) {
            let compare = (share * f64::from(top + 1)) as u16;
            let on_match = if inverting { OnMatch::Set } else { OnMatch::Clear };
            let mut bench = Bench::new(shape, top, on_match, division);
            bench.counter.set_compare(0, compare);
            let (top, compare) = (u32::from(top), u32::from(compare));
            let (length, on) = match shape {
                Shape::Fast => (top + 1, compare + 1),
                _ => (2 * top, 2 * compare),
            };
            let on = if inverting { length - on } else { on };
            bench.run(u64::from(length * division) * 6);
            let periods = bench.periods();
            prop_assert!(periods.len() >= 4);
            for period in &periods[2..] {
                prop_assert_eq!(period.length, length * division);
                prop_assert_eq!(period.high, on * division);
                prop_assert!(period.edges <= 2);
            }
        }

        /// Skipping the ticks on which nothing happens changes nothing: one long advance is many
        /// short ones, whenever compare values and the count are rewritten.
        #[test]
        fn advancing_in_one_go_is_advancing_clock_by_clock(
            shape in shape(),
            top in 1u16..40,
            on_match in on_match(),
            division in prop_oneof![Just(1u32), Just(8)],
            writes in prop::collection::vec((1u64..300, 0u16..48, any::<bool>()), 1..12),
        ) {
            let mut at_once = Bench::new(shape, top, on_match, division);
            let mut by_clock = Bench::new(shape, top, on_match, division);
            let mut now = 0;
            for (wait, value, to_count) in writes {
                at_once.run(now + wait);
                (now..=now + wait).for_each(|clock| by_clock.run(clock));
                now += wait;
                for bench in [&mut at_once, &mut by_clock] {
                    if to_count {
                        bench.counter.set_count(value);
                    } else {
                        bench.counter.set_compare(0, value);
                    }
                }
                prop_assert_eq!(at_once.counter.count(), by_clock.counter.count());
                prop_assert_eq!(at_once.counter.flags, by_clock.counter.flags);
                prop_assert_eq!(at_once.counter.missed, by_clock.counter.missed);
            }
            prop_assert_eq!(at_once.periods(), by_clock.periods());
            prop_assert_eq!(at_once.pins.take_edges(), by_clock.pins.take_edges());
        }

        /// No flag rises before the moment that was foretold.
        #[test]
        fn the_next_flag_is_never_late(
            shape in shape(),
            top in 1u16..200,
            compare in 0u16..220,
            enabled in prop_oneof![Just(flag::OVERFLOW), Just(flag::COMPARE[0])],
            start in 0u64..2000,
        ) {
            let mut bench = Bench::new(shape, top, OnMatch::Clear, 1);
            bench.counter.set_compare(0, compare);
            bench.counter.enabled = enabled;
            bench.run(start);
            bench.counter.flags = 0;
            let next = bench.counter.next_flag(&bench.prescaler);
            prop_assert!(next > Moment(start));
            bench.run((next.0 - 1).min(start + 70_000));
            prop_assert_eq!(bench.counter.flags & enabled, 0);
        }
    }

    /// 8-bit Timer/Counter0, 'Phase Correct PWM Mode': when the compare value leaves MAX, the output
    /// falls at TOP without a match, so that the pulse stays symmetric around BOTTOM.
    #[test]
    fn leaving_the_top_value_keeps_the_pulse_symmetric() {
        let mut bench = Bench::new(Shape::PhaseCorrect, 255, OnMatch::Clear, 1);
        bench.counter.set_compare(0, 255);
        bench.run(510 * 3);
        bench.counter.set_compare(0, 100);
        bench.run(510 * 6);
        let periods = bench.periods();
        let highs: Vec<u32> = periods.iter().skip(1).map(|p| p.high).collect();
        // The way up still at 255, the way down at 100; then 100 on both.
        assert_eq!(highs, [510, 255 + 100, 200]);
    }
}
