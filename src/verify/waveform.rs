//! The light at a channel's pin, put together from its timer periods, against the duty.
//!
//! The interrupt takes a duty to the timer at the start of a period, and the timer shows it from its
//! next update on. A period in which only one duty can be shown is *steady*: it is lit as the duty's leading
//! period or as the others, and each `2^extra_bits` of them together for exactly the duty. Where the
//! duty changed just then, a period may be of the old or of the new one, but of nothing else.

use std::collections::VecDeque;

use super::bench::ChannelPin;
use super::machine::{Moment, Period};
use super::put::Puts;
use super::{LightFault, LightSeen};
use crate::drive::timer::{Dither, Mode, TimerDrive};
use crate::spec::Active;
use crate::units::Duty;

/// Follows one channel.
pub(super) struct Waveform {
    rules: Rules,
    /// What was put out, oldest first; what no later period can show is left out.
    put: Puts,
    /// When the output was turned on.
    driven: Moment,
    /// The last period was without light.
    was_dark: bool,
    /// Periods that cannot be judged yet.
    waiting: VecDeque<Period>,
    /// Lit counts of the last steady periods, newest last, and their sum.
    steady: VecDeque<u32>,
    sum: u64,
    seen: LightSeen,
}

/// How a duty becomes light on this chip.
#[derive(Debug, Clone, Copy)]
struct Rules {
    mode: Mode,
    /// Cycles of a timer count, and of a period.
    count: u32,
    period: u32,
    phases: u32,
    /// Counts lit for each count of the duty.
    per_count: u32,
    dither: Dither,
    /// What counts from 255 on are lit for.
    full: u32,
    active: Active,
}

impl Waveform {
    /// Follows a channel whose output was turned on when it was `driven`. Before its first duty, it
    /// is dark.
    pub(super) fn new(drive: &TimerDrive, output: &ChannelPin, driven: Moment) -> Self {
        let timing = &drive.timing;
        let prescaler = u32::from(timing.prescaler);
        let per_count = timing.per_count().0 / prescaler;
        let whole_period = timing.mode == Mode::Fast && output.full_at_zero;
        let rules = Rules {
            mode: timing.mode,
            count: prescaler,
            period: timing.cycles().0,
            phases: drive.dither.phases().into(),
            per_count,
            dither: drive.dither,
            full: if whole_period { 256 } else { 255 * per_count },
            active: output.active,
        };
        Self {
            rules,
            put: Puts::dark(),
            driven,
            was_dark: false,
            waiting: VecDeque::new(),
            steady: VecDeque::new(),
            sum: 0,
            seen: LightSeen::default(),
        }
    }

    /// A duty that was worked out from `begun` to `done`.
    pub(super) fn put(&mut self, begun: Moment, done: Moment, duty: Duty) {
        self.put.add(begun, done, duty);
    }

    /// Takes the periods that ended during a tick which was worked out from `begun` to `done` and
    /// came to `duty`.
    pub(super) fn tick(
        &mut self,
        periods: impl Iterator<Item = Period>,
        begun: Moment,
        done: Moment,
        duty: Duty,
    ) -> Result<(), (Moment, Duty, LightFault)> {
        self.waiting.extend(periods);
        while let Some(period) = self.waiting.front().copied() {
            if period.start + u64::from(self.rules.period) > begun {
                break;
            }
            self.waiting.pop_front();
            self.judge(period)?;
        }
        self.put(begun, done, duty);
        Ok(())
    }

    /// How many of the duties, from the oldest on, a period may be of.
    fn shown_in(&mut self, period: Period) -> usize {
        let (earliest, latest) = self.rules.taken(period.start);
        while self.put.0.get(1).is_some_and(|next| next.done <= earliest) {
            self.put.0.pop_front();
        }
        let later = self.put.0.iter().skip(1);
        1 + later.take_while(|put| put.begun < latest).count()
    }

    fn judge(&mut self, period: Period) -> Result<(), (Moment, Duty, LightFault)> {
        let rules = self.rules;
        let end = period.start + u64::from(period.length);
        if end <= self.driven {
            return Ok(());
        }
        let shown = self.shown_in(period);
        let steady = shown == 1;
        let duty = self.put.0[shown - 1].duty;
        let fault = |fault| Err((period.start, duty, fault));
        let bounds = self
            .put
            .0
            .iter()
            .take(shown)
            .map(|put| rules.bounds(put.duty));
        let (least, most) = bounds
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
            .unwrap_or_default();
        if period.start < self.driven {
            // A part of a period, of any length.
            let lit = match rules.active {
                Active::High => u64::from(period.high),
                Active::Low => (end - self.driven).saturating_sub(u64::from(period.high)),
            };
            let counts = lit as f64 / f64::from(rules.count);
            self.was_dark = lit == 0;
            return if counts > f64::from(most) {
                fault(LightFault::Period { counts })
            } else {
                Ok(())
            };
        }
        let cycles = match rules.active {
            Active::High => period.high,
            Active::Low => period.length - period.high,
        };
        self.seen.periods += 1;
        self.seen.lit += u64::from(cycles);
        self.seen.elapsed += u64::from(period.length);
        let counts = f64::from(cycles) / f64::from(rules.count);
        // A pulse that ends with its period counts as an edge of the next.
        let was_dark = std::mem::replace(&mut self.was_dark, cycles == 0);
        if period.length != rules.period {
            let counts = f64::from(period.length) / f64::from(rules.count);
            return fault(LightFault::Length { counts });
        }
        if period.edges > 2 {
            return fault(LightFault::Glitch {
                edges: period.edges,
            });
        }
        let allowed = least..=most;
        if !cycles.is_multiple_of(rules.count) || !allowed.contains(&(cycles / rules.count)) {
            return fault(LightFault::Period { counts });
        }
        if !steady {
            self.steady.clear();
            self.sum = 0;
            return Ok(());
        }
        self.seen.steady += 1;
        if duty == Duty(0) {
            self.seen.dark += 1;
            if period.edges > 0 && was_dark {
                return fault(LightFault::Glitch {
                    edges: period.edges,
                });
            }
        }
        self.add(cycles / rules.count, duty)
            .map_err(|found| (period.start, duty, found))
    }

    fn add(&mut self, counts: u32, duty: Duty) -> Result<(), LightFault> {
        let phases = self.rules.phases as usize;
        self.steady.push_back(counts);
        self.sum += u64::from(counts);
        if self.steady.len() > 2 * phases {
            self.steady.pop_front();
        }
        let length = self.steady.len();
        if length < phases {
            return Ok(());
        }
        if length > phases {
            self.sum -= u64::from(self.steady[length - phases - 1]);
        }
        self.seen.cycles_of_phases += 1;
        let expected = self.rules.sum(duty);
        if self.sum != expected {
            return Err(LightFault::Sum {
                counts: self.sum as f64,
                expected: expected as f64,
            });
        }
        if length == 2 * phases && self.seen.longest_repeat < self.rules.phases {
            self.seen.longest_repeat = self.seen.longest_repeat.max(self.repeat());
        }
        Ok(())
    }

    /// After how many periods the light repeats itself.
    fn repeat(&self) -> u32 {
        (0..)
            .map(|log| 1 << log)
            .find(|&after| {
                after >= self.rules.phases
                    || self
                        .steady
                        .iter()
                        .zip(self.steady.iter().skip(after as usize))
                        .all(|(a, b)| a == b)
            })
            .unwrap_or(self.rules.phases)
    }

    pub(super) fn seen(&self) -> LightSeen {
        self.seen
    }
}

/// The longest that an overflow waits for its interrupt, and that takes, where a period is longer.
const SERVED: u32 = 256;

impl Rules {
    /// Between when and when the interrupt took what a period shows. In fast PWM the timer takes it
    /// over at the start of the period, so this was a period before; in phase-correct mode in the
    /// middle, so that a half is of the interrupt at the start.
    fn taken(self, start: Moment) -> (Moment, Moment) {
        let earliest = Moment(start.0.saturating_sub(self.period.into()));
        let last = match self.mode {
            Mode::Fast => earliest,
            Mode::PhaseCorrect => start,
        };
        (earliest, last + u64::from(self.period.min(SERVED)))
    }

    /// The fewest and most counts for which a period is lit.
    fn bounds(self, duty: Duty) -> (u32, u32) {
        let (lead, rest) = self.split(duty);
        (lead.min(rest), lead.max(rest))
    }

    /// What the leading period is lit for, and each other.
    fn split(self, duty: Duty) -> (u32, u32) {
        let split = self.dither.split(duty);
        (self.lit(split.lead.into()), self.lit(split.rest.into()))
    }

    fn lit(self, counts: u32) -> u32 {
        if counts >= 255 {
            self.full
        } else {
            counts * self.per_count
        }
    }

    /// Counts lit in a cycle of all phases.
    fn sum(self, duty: Duty) -> u64 {
        let (lead, rest) = self.split(duty);
        u64::from(lead) + u64::from(self.phases - 1) * u64::from(rest)
    }
}
