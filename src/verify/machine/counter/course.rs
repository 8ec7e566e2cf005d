//! When something happens, and how the counter gets there.

use super::{Counter, Shape, flag};
use crate::verify::machine::moment::Moment;
use crate::verify::machine::pins::Pins;
use crate::verify::machine::prescaler::Prescaler;

impl Counter {
    /// Lets happen what is due up to and including `to`: enabled flags rise, compare values are
    /// taken over. Count, other flags and pins may lag behind: before they are looked at, or how it
    /// runs is changed, [`settle`](Self::settle).
    #[inline]
    pub(crate) fn advance(&mut self, to: Moment, prescaler: &Prescaler, pins: &mut Pins) {
        if to >= self.due {
            if self.foreseen {
                self.finish_periods(to, pins);
            } else {
                self.settle(to, prescaler, pins);
            }
        }
    }

    /// Runs up to and including `to`.
    pub(crate) fn settle(&mut self, to: Moment, prescaler: &Prescaler, pins: &mut Pins) {
        if self.foreseen && to >= self.due {
            self.finish_periods(to, pins);
        }
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
    pub(crate) fn next_flag(&self) -> Moment {
        self.next_flag
    }

    /// Works out anew when something happens next: after every change of how it runs.
    pub(crate) fn look_ahead(&mut self, prescaler: &Prescaler) {
        (self.due, self.next_flag) = (Moment::NEVER, Moment::NEVER);
        self.foreseen = self.is_foreseeable();
        if self.division == 0 {
            return;
        }
        let after = |ticks| prescaler.tick_after(self.division, self.synced, ticks);
        if self.foreseen {
            self.due = after(u64::from(self.top() - self.count) + 1);
            if self.enabled != 0 {
                self.next_flag = self.due;
            }
            return;
        }
        self.due = after(self.ticks_to_event(u8::MAX));
        if self.observed {
            self.next_flag = self.due;
        } else if self.enabled != 0 {
            self.next_flag = after(self.ticks_to_event(self.enabled));
        }
    }

    /// Ticks until something happens: the counter turns round, or reaches the compare value of a
    /// channel among `flags`. Always at least 1.
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
}
