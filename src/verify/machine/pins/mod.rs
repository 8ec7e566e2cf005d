//! The port pins: what drives each, what the firmware reads on it, and a record of what it put out.
//!
//! Ports follow the datasheets' section 'Ports as General Digital I/O': DDR chooses the direction,
//! PORT is the output latch or the pull-up, writing ones to PIN toggles PORT, a compare output
//! overrides the latch but not the direction, and a read sees the pin through a synchroniser.

mod record;

pub use self::record::{Edge, Level, Period, Watch};
use super::moment::Moment;
use super::pin::Pin;

#[derive(Debug, Clone, Copy, Default)]
struct State {
    /// Level of a compare output that overrides the latch, if one does. Some pins serve two.
    compare: [Option<bool>; 2],
    claims: u8,
    /// Level that something outside the chip puts on the pin.
    external: Option<bool>,

    level: Level,
    since: Moment,
    high_cycles: u64,
    edges: u32,

    /// What the input stage sees, and saw before `input_at`.
    input: bool,
    input_before: bool,
    input_at: Moment,

    watch: Watch,
    /// Which compare output the recorded period belongs to.
    period_of: u8,
    period_start: Option<Moment>,
    high_at_start: u64,
    edges_at_start: u32,
}

/// A compare output's right to a pin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Claim {
    pin: Pin,
    slot: u8,
}

impl Claim {
    /// The pin, as one bit among all pins.
    pub(super) fn bit(self) -> u64 {
        1 << self.pin.index()
    }
}

/// All pins of a chip.
pub(super) struct Pins {
    states: [State; Pin::COUNT],
    /// PORT and DDR, and the pins that timers have a right to, one bit a pin.
    latches: u64,
    directions: u64,
    claimed: u64,
    pull_ups_disabled: bool,
    /// Input changes since they were last looked at, one bit a pin.
    changed: u64,
    edges: Vec<Edge>,
    periods: Vec<Period>,
}

impl Pins {
    pub(super) fn new() -> Self {
        Self {
            states: [State::default(); Pin::COUNT],
            latches: 0,
            directions: 0,
            claimed: 0,
            pull_ups_disabled: false,
            changed: 0,
            edges: Vec::new(),
            periods: Vec::new(),
        }
    }

    /// All pins become inputs without pull-up, as at any reset; what is outside stays.
    pub(super) fn reset(&mut self, at: Moment) {
        self.pull_ups_disabled = false;
        (self.latches, self.directions) = (0, 0);
        for index in 0..Pin::COUNT {
            let state = &mut self.states[index];
            (state.compare, state.period_start) = ([None; 2], None);
            self.settle(index, at);
        }
    }

    pub(super) fn watch(&mut self, pin: Pin, watch: Watch) {
        self.states[pin.index()].watch = watch;
    }

    /// Puts a level on a pin from outside, or lets go of it.
    pub(super) fn set_external(&mut self, pin: Pin, level: Option<bool>, at: Moment) {
        self.states[pin.index()].external = level;
        self.settle(pin.index(), at);
    }

    pub(super) fn disable_pull_ups(&mut self, disabled: bool, at: Moment) {
        if self.pull_ups_disabled != disabled {
            self.pull_ups_disabled = disabled;
            (0..Pin::COUNT).for_each(|index| self.settle(index, at));
        }
    }

    /// Gives one more compare output a place at `pin`.
    ///
    /// # Panics
    /// If two have one already.
    pub(super) fn claim(&mut self, pin: Pin) -> Claim {
        let claims = &mut self.states[pin.index()].claims;
        assert!(*claims < 2, "three compare outputs at {pin}");
        *claims += 1;
        self.claimed |= 1 << pin.index();
        Claim {
            pin,
            slot: *claims - 1,
        }
    }

    /// A timer connects a compare output to its pin (with its level), or leaves the pin to the port.
    #[inline]
    pub(super) fn set_compare(&mut self, claim: Claim, level: Option<bool>, at: Moment) {
        let compare = &mut self.states[claim.pin.index()].compare[usize::from(claim.slot)];
        if *compare != level {
            *compare = level;
            self.settle(claim.pin.index(), at);
        }
    }

    pub(super) fn latches(&self, port: u8) -> u8 {
        self.latches.to_le_bytes()[usize::from(port)]
    }

    pub(super) fn directions(&self, port: u8) -> u8 {
        self.directions.to_le_bytes()[usize::from(port)]
    }

    /// Whether a timer has a right to one of these bits' pins.
    #[inline]
    pub(super) fn serve_timers(&self, port: u8, bits: u8) -> bool {
        self.claimed.to_le_bytes()[usize::from(port)] & bits != 0
    }

    /// What reading PIN gives: the level one clock before (the synchroniser delays a change by half
    /// a clock to one and a half, so an OUT needs a NOP before the IN that sees it).
    pub(super) fn inputs(&self, port: u8, at: Moment) -> u8 {
        let states = &self.states[usize::from(port) * 8..][..8];
        states.iter().rev().fold(0, |byte, state| {
            let seen = if state.input_at.0 < at.0 {
                state.input
            } else {
                state.input_before
            };
            byte << 1 | u8::from(seen)
        })
    }

    /// Changes these bits of PORT.
    pub(super) fn flip_latches(&mut self, port: u8, bits: u8, at: Moment) {
        self.latches ^= u64::from(bits) << (8 * port);
        self.settle_port(port, bits, at);
    }

    /// Changes these bits of DDR.
    pub(super) fn flip_directions(&mut self, port: u8, bits: u8, at: Moment) {
        self.directions ^= u64::from(bits) << (8 * port);
        self.settle_port(port, bits, at);
    }

    /// What a pin puts out now.
    pub(super) fn level(&self, pin: Pin) -> Level {
        self.states[pin.index()].level
    }

    /// Cycles for which a pin has been driven high since power-up.
    pub(super) fn high_cycles(&self, pin: Pin, until: Moment) -> u64 {
        self.states[pin.index()].high_until(until)
    }

    /// A timer passes BOTTOM: the period at one of its pins ends and the next begins.
    #[inline]
    pub(super) fn turn_period(&mut self, claim: Claim, at: Moment) {
        let Claim { pin, slot } = claim;
        let state = &mut self.states[pin.index()];
        let connected = state.compare[usize::from(slot)].is_some();
        let other_connected = state.compare[usize::from(1 - slot)].is_some();
        if !state.watch.periods || (other_connected && !connected) {
            return;
        }
        if state.period_of != slot {
            (state.period_of, state.period_start) = (slot, None);
        }
        let high = state.high_until(at);
        if let Some(start) = state.period_start.filter(|start| *start < at) {
            self.periods.push(Period {
                pin,
                start,
                length: (at - start) as u32,
                high: (high - state.high_at_start) as u32,
                edges: state.edges - state.edges_at_start,
            });
        }
        state.period_start = Some(at);
        state.high_at_start = high;
        state.edges_at_start = state.edges;
    }

    /// The rest of a period of a connected compare output: perhaps a change of its level, and the
    /// level that it has at BOTTOM, where the period ends.
    #[inline]
    pub(super) fn play_period(
        &mut self,
        claim: Claim,
        change: Option<(Moment, bool)>,
        bottom: Moment,
        level: bool,
    ) {
        let index = claim.pin.index();
        let state = &mut self.states[index];
        let driven = self.directions >> index & 1 != 0;
        let rules = claim.slot == 0 || state.compare[0].is_none();
        if driven && rules && state.compare[usize::from(claim.slot)].is_some() {
            state.compare[usize::from(claim.slot)] = Some(level);
            if let Some((at, level)) = change {
                self.put_out(index, level, at);
            }
            self.turn_period(claim, bottom);
            self.put_out(index, level, bottom);
            return;
        }
        if let Some((at, level)) = change {
            self.set_compare(claim, Some(level), at);
        }
        self.turn_period(claim, bottom);
        self.set_compare(claim, Some(level), bottom);
    }

    /// A timer stops: there is no period until it runs again.
    pub(super) fn end_periods(&mut self, claim: Claim) {
        let state = &mut self.states[claim.pin.index()];
        if state.period_of == claim.slot {
            state.period_start = None;
        }
    }

    pub(super) fn take_edges(&mut self) -> Vec<Edge> {
        std::mem::take(&mut self.edges)
    }

    pub(super) fn take_periods(&mut self) -> Vec<Period> {
        std::mem::take(&mut self.periods)
    }

    /// The pins whose input changed since the last call, one bit a pin.
    pub(super) fn take_input_changes(&mut self) -> u64 {
        std::mem::take(&mut self.changed)
    }

    /// The level at a pin, whoever makes it.
    pub(super) fn input(&self, pin: Pin) -> bool {
        self.states[pin.index()].input
    }

    fn settle_port(&mut self, port: u8, bits: u8, at: Moment) {
        let mut left = bits;
        while left != 0 {
            let bit = left.trailing_zeros();
            left &= left - 1;
            self.settle(usize::from(port) * 8 + bit as usize, at);
        }
    }

    /// Works out what the pin puts out and reads now, and records a change.
    #[inline]
    fn settle(&mut self, index: usize, at: Moment) {
        let latch = self.latches >> index & 1 != 0;
        let state = &self.states[index];
        if self.directions >> index & 1 != 0 {
            let level = state.compare[0].or(state.compare[1]).unwrap_or(latch);
            self.put_out(index, level, at);
        } else {
            let input = state.external.unwrap_or(latch && !self.pull_ups_disabled);
            self.set(index, Level::Released, input, at);
        }
    }

    /// As [`settle`](Self::settle), of a pin that is driven to a level.
    #[inline]
    fn put_out(&mut self, index: usize, high: bool, at: Moment) {
        let level = if high { Level::High } else { Level::Low };
        self.set(index, level, high, at);
    }

    #[inline]
    fn set(&mut self, index: usize, level: Level, input: bool, at: Moment) {
        let state = &mut self.states[index];
        if level != state.level {
            state.high_cycles = state.high_until(at);
            (state.level, state.since) = (level, at);
            state.edges += 1;
            if state.watch.edges {
                self.edges.push(Edge {
                    at,
                    pin: Pin::at(index),
                    level,
                });
            }
        }
        if input != state.input {
            (state.input_before, state.input, state.input_at) = (state.input, input, at);
            self.changed |= 1 << index;
        }
    }
}

impl State {
    #[inline]
    fn high_until(&self, moment: Moment) -> u64 {
        match self.level {
            Level::High => self.high_cycles + (moment - self.since),
            _ => self.high_cycles,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pin(name: &str) -> Pin {
        name.parse().unwrap()
    }

    fn write_latches(pins: &mut Pins, port: u8, value: u8, at: Moment) {
        pins.flip_latches(port, value ^ pins.latches(port), at);
    }

    fn write_directions(pins: &mut Pins, port: u8, value: u8, at: Moment) {
        pins.flip_directions(port, value ^ pins.directions(port), at);
    }

    #[test]
    fn a_pressed_button_stays_pressed_when_the_port_is_written() {
        let mut pins = Pins::new();
        write_latches(&mut pins, 3, 0x04, Moment(1));
        assert_eq!(pins.inputs(3, Moment(3)), 0x04, "the pull-up holds it high");
        pins.set_external(pin("PD2"), Some(false), Moment(4));
        write_latches(&mut pins, 3, 0xFF, Moment(5));
        write_latches(&mut pins, 3, 0x04, Moment(6));
        assert_eq!(pins.inputs(3, Moment(8)) & 0x04, 0);
        pins.set_external(pin("PD2"), None, Moment(9));
        assert_eq!(pins.inputs(3, Moment(11)) & 0x04, 0x04);
    }

    /// ATtiny2313A datasheet, 'Reading the Pin Value': a NOP is needed between OUT and IN.
    #[test]
    fn a_write_is_read_back_one_clock_late() {
        let mut pins = Pins::new();
        write_directions(&mut pins, 1, 0x01, Moment(1));
        write_latches(&mut pins, 1, 0x01, Moment(10));
        assert_eq!(pins.inputs(1, Moment(10)), 0, "IN right after OUT");
        assert_eq!(pins.inputs(1, Moment(11)), 1, "IN after a NOP");
    }

    #[test]
    fn high_time_counts_driven_levels_only() {
        let mut pins = Pins::new();
        write_latches(&mut pins, 1, 0x01, Moment(5));
        assert_eq!(
            pins.high_cycles(pin("PB0"), Moment(10)),
            0,
            "a pull-up drives nothing"
        );
        write_directions(&mut pins, 1, 0x01, Moment(10));
        pins.flip_latches(1, 0x01, Moment(30));
        assert_eq!(pins.high_cycles(pin("PB0"), Moment(100)), 20);
    }

    #[test]
    fn a_compare_output_overrides_the_latch_but_not_the_direction() {
        let mut pins = Pins::new();
        let output = pins.claim(pin("PB2"));
        pins.set_compare(output, Some(true), Moment(0));
        assert_eq!(pins.level(pin("PB2")), Level::Released);
        write_directions(&mut pins, 1, 0x04, Moment(1));
        assert_eq!(pins.level(pin("PB2")), Level::High);
        pins.set_compare(output, None, Moment(2));
        assert_eq!(pins.level(pin("PB2")), Level::Low);
    }
}
