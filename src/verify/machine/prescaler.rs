//! The counter that divides the system clock for a timer (datasheets, 'Timer/Counter Prescalers').

use super::moment::Moment;
use super::silicon::ClockChoices;

/// A free-running prescaler. Its taps tick at whole multiples of their division after its zero.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Prescaler {
    zero: Moment,
    /// When it was stopped (TSM), if it is.
    held_at: Option<Moment>,
}

impl Prescaler {
    /// Starts it from zero, or holds it there.
    pub(super) fn reset(&mut self, at: Moment, hold: bool) {
        self.zero = at;
        self.held_at = hold.then_some(at);
    }

    pub(super) fn release(&mut self, at: Moment) {
        if self.held_at.take().is_some() {
            self.zero = at;
        }
    }

    /// For so many cycles it stood still, with the clock.
    pub(super) fn skip(&mut self, cycles: u64) {
        self.zero += cycles;
        self.held_at = self.held_at.map(|at| at + cycles);
    }

    pub(super) fn is_held(&self) -> bool {
        self.held_at.is_some()
    }

    /// Ticks of the tap that divides by `division`, up to and including `moment`.
    #[inline]
    fn ticks(&self, division: u32, moment: Moment) -> u64 {
        if division == 1 {
            return moment.0;
        }
        let moment = self.held_at.map_or(moment, |held| held.min(moment));
        moment.0.saturating_sub(self.zero.0) / u64::from(division)
    }

    /// Ticks after `from`, up to and including `to`.
    #[inline]
    pub(super) fn ticks_between(&self, division: u32, from: Moment, to: Moment) -> u64 {
        self.ticks(division, to) - self.ticks(division, from)
    }

    /// When the `count`-th tick after `from` comes.
    #[inline]
    pub(super) fn tick_after(&self, division: u32, from: Moment, count: u64) -> Moment {
        if division == 1 {
            return from + count;
        }
        if self.held_at.is_some() {
            return Moment::NEVER;
        }
        let ticks = self.ticks(division, from) + count;
        self.zero + ticks.saturating_mul(u64::from(division))
    }
}

/// The prescalers of a part.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Prescalers {
    /// Shared by the timers that count the system clock in the common divisions.
    pub system: Prescaler,
    /// Of the one timer that has its own.
    pub own: Prescaler,
}

impl Prescalers {
    pub(super) fn starting(at: Moment) -> Self {
        let fresh = Prescaler {
            zero: at,
            held_at: None,
        };
        Self {
            system: fresh,
            own: fresh,
        }
    }

    #[inline]
    pub(super) fn of(&self, clock: ClockChoices) -> &Prescaler {
        match clock {
            ClockChoices::System => &self.system,
            ClockChoices::Own | ClockChoices::Binary => &self.own,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn taps_tick_at_multiples_after_the_reset() {
        let mut prescaler = Prescaler::default();
        prescaler.reset(Moment(5), false);
        assert_eq!(prescaler.tick_after(8, Moment(5), 1), Moment(13));
        assert_eq!(prescaler.tick_after(8, Moment(12), 1), Moment(13));
        assert_eq!(prescaler.tick_after(8, Moment(13), 1), Moment(21));
        assert_eq!(prescaler.ticks_between(8, Moment(12), Moment(29)), 3);
        assert_eq!(prescaler.tick_after(1, Moment(7), 3), Moment(10));
    }

    #[test]
    fn a_held_prescaler_does_not_tick() {
        let mut prescaler = Prescaler::default();
        prescaler.reset(Moment(10), true);
        assert_eq!(prescaler.ticks_between(8, Moment(10), Moment(1000)), 0);
        prescaler.release(Moment(1000));
        assert_eq!(prescaler.tick_after(8, Moment(1000), 1), Moment(1008));
    }
}
