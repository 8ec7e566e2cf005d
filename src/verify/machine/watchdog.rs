//! The watchdog timer (datasheets, 'Watchdog Timer'): 2048 cycles of its own 128 kHz oscillator,
//! 16 ms, doubled for each step of WDP3:0, then an interrupt, a reset, or one after the other; an interrupt that is
//! not served by the end of the next period is followed by a reset as well.

use super::moment::Moment;
use crate::units::Hertz;

const ENABLE: u8 = 1 << 3;
const CHANGE_ENABLE: u8 = 1 << 4;
const INTERRUPT_ENABLE: u8 = 1 << 6;
const INTERRUPT_FLAG: u8 = 1 << 7;
const PRESCALER: u8 = 0b0010_0111;

const SHORTEST_SECONDS: f64 = 2048.0 / 128e3;
/// Largest step that WDP3:0 can say; those above are reserved.
const LONGEST_STEP: u8 = 9;
/// Cycles within which a change must follow WDCE.
const CHANGE_WINDOW: u64 = 4;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TimeOut {
    None,
    Reset,
}

pub(super) struct Watchdog {
    clock: Hertz,
    /// How fast its oscillator is: 1 is what its table says.
    pace: f64,
    control: u8,
    change_until: Moment,
    fed: Moment,
    /// When it times out.
    due: Moment,
    /// WDRF in MCUSR keeps WDE from being cleared.
    pub held_on: bool,
}

impl Watchdog {
    pub(super) fn new(clock: Hertz) -> Self {
        Self {
            clock,
            pace: 1.0,
            control: 0,
            change_until: Moment(0),
            fed: Moment(0),
            due: Moment::NEVER,
            held_on: false,
        }
    }

    /// After a watchdog reset it runs on at its shortest time-out, until WDRF is cleared; else it is off.
    pub(super) fn reset(&mut self, at: Moment, by_watchdog: bool) {
        self.control = if by_watchdog { ENABLE } else { 0 };
        (self.change_until, self.held_on) = (Moment(0), by_watchdog);
        self.feed(at);
    }

    /// The WDR instruction.
    pub(super) fn feed(&mut self, at: Moment) {
        self.fed = at;
        self.look_ahead();
    }

    /// Its oscillator runs so many times as fast, from the next feeding on.
    pub(super) fn set_pace(&mut self, pace: f64) {
        self.pace = pace;
    }

    pub(super) fn is_running(&self) -> bool {
        self.control & (ENABLE | INTERRUPT_ENABLE) != 0
    }

    pub(super) fn interrupts(&self) -> bool {
        let both = INTERRUPT_ENABLE | INTERRUPT_FLAG;
        self.control & both == both
    }

    /// The interrupt is served: the flag clears, and with WDE set so does WDIE, so that the next
    /// time-out resets.
    pub(super) fn acknowledge(&mut self) {
        self.control &= !INTERRUPT_FLAG;
        if self.control & ENABLE != 0 {
            self.control &= !INTERRUPT_ENABLE;
        }
        self.look_ahead();
    }

    #[inline]
    pub(super) fn next_event(&self) -> Moment {
        self.due
    }

    fn look_ahead(&mut self) {
        self.due = match self.is_running() {
            true => self.fed + self.period(),
            false => Moment::NEVER,
        };
    }

    pub(super) fn advance(&mut self, to: Moment) -> TimeOut {
        while self.due <= to {
            self.feed(self.due);
            let unserved = self.control & ENABLE != 0 && self.control & INTERRUPT_FLAG != 0;
            if self.control & INTERRUPT_ENABLE == 0 || unserved {
                return TimeOut::Reset;
            }
            self.control |= INTERRUPT_FLAG;
        }
        TimeOut::None
    }

    pub(super) fn peek(&self) -> u8 {
        self.control
    }

    /// Takes a write of WDTCR. WDE can be set at any time; clearing it, or changing the time-out,
    /// needs WDCE and WDE written together at most four cycles earlier.
    pub(super) fn write(&mut self, value: u8, at: Moment) {
        let may_change = self.control & CHANGE_ENABLE != 0 && at <= self.change_until;
        let flag = self.control & INTERRUPT_FLAG & !value;
        let protected = ENABLE | PRESCALER;
        let settled = match may_change {
            true => value & protected,
            false => self.control & protected | value & ENABLE,
        };
        let held = if self.held_on { ENABLE } else { 0 };
        self.control = flag | value & INTERRUPT_ENABLE | settled | held;
        if !may_change && value & CHANGE_ENABLE != 0 && value & ENABLE != 0 {
            self.control |= CHANGE_ENABLE;
            self.change_until = at + CHANGE_WINDOW;
        }
        self.look_ahead();
    }

    /// Cycles from a feeding to the time-out.
    pub(super) fn period(&self) -> u64 {
        let step = (self.control & 7 | self.control >> 2 & 8).min(LONGEST_STEP);
        (SHORTEST_SECONDS * f64::from(1u32 << step) * self.clock.0 / self.pace).round() as u64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn running(step: u8) -> Watchdog {
        let mut watchdog = Watchdog::new(Hertz(8e6));
        watchdog.write(CHANGE_ENABLE | ENABLE, Moment(0));
        watchdog.write(ENABLE | step & 7 | (step & 8) << 2, Moment(1));
        watchdog
    }

    /// Table 'Watchdog Timer Prescale Select': 16 ms to 8 s, typical at 5 V.
    #[test]
    fn time_outs_are_those_of_the_table() {
        for (step, seconds) in [(0, 0.016), (3, 0.128), (6, 1.024), (9, 8.192)] {
            assert_eq!(running(step).next_event(), Moment((seconds * 8e6) as u64));
        }
    }

    #[test]
    fn it_cannot_be_stopped_or_changed_without_the_sequence() {
        let mut watchdog = running(6);
        watchdog.write(0, Moment(10));
        assert_eq!(watchdog.peek(), ENABLE | 6);
        watchdog.write(CHANGE_ENABLE | ENABLE, Moment(20));
        watchdog.write(0, Moment(25));
        assert_eq!(watchdog.peek() & ENABLE, ENABLE, "one cycle too late");
        watchdog.write(CHANGE_ENABLE | ENABLE, Moment(30));
        watchdog.write(0, Moment(34));
        assert_eq!(watchdog.peek() & ENABLE, 0);
    }

    #[test]
    fn after_its_reset_it_runs_at_16_ms_and_stops_only_once_wdrf_is_clear() {
        let mut watchdog = running(6);
        watchdog.reset(Moment(1000), true);
        assert_eq!(watchdog.next_event(), Moment(1000 + 128_000));
        let stop = |watchdog: &mut Watchdog, at: Moment| {
            watchdog.write(CHANGE_ENABLE | ENABLE, at);
            watchdog.write(0, at + 1);
            watchdog.is_running()
        };
        assert!(stop(&mut watchdog, Moment(2000)), "WDRF holds it");
        watchdog.held_on = false;
        assert!(watchdog.is_running(), "clearing WDRF alone stops nothing");
        assert!(!stop(&mut watchdog, Moment(3000)));
    }

    #[test]
    fn interrupt_first_then_reset() {
        let mut watchdog = running(0);
        watchdog.write(INTERRUPT_ENABLE | ENABLE, Moment(5));
        assert_eq!(watchdog.advance(Moment(128_000)), TimeOut::None);
        assert!(watchdog.interrupts());
        watchdog.acknowledge();
        assert_eq!(watchdog.advance(Moment(256_000)), TimeOut::Reset);
    }

    /// 'If the interrupt is not executed before the next time-out, a System Reset will be applied.'
    #[test]
    fn an_interrupt_that_is_not_served_ends_in_a_reset() {
        let mut watchdog = running(0);
        watchdog.write(INTERRUPT_ENABLE | ENABLE, Moment(5));
        assert_eq!(watchdog.advance(Moment(128_000)), TimeOut::None);
        assert_eq!(watchdog.advance(Moment(256_000)), TimeOut::Reset);
    }

    #[test]
    fn allowed_again_it_interrupts_for_ever() {
        let mut watchdog = running(0);
        for period in 1..=5 {
            watchdog.write(INTERRUPT_ENABLE | ENABLE, watchdog.fed + 5);
            assert_eq!(watchdog.advance(Moment(period * 128_000)), TimeOut::None);
            assert!(watchdog.interrupts());
            watchdog.acknowledge();
        }
    }

    #[test]
    fn a_fast_oscillator_makes_short_periods() {
        let mut watchdog = running(6);
        watchdog.set_pace(1.25);
        watchdog.feed(Moment(0));
        assert_eq!(watchdog.next_event(), Moment(6_553_600));
    }
}
