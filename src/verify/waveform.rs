//! The light at a channel's pin, put together from its timer periods, against the duty.
//!
//! A duty takes effect some periods after the firmware has worked it out, and while it is on its way
//! a period may belong to the old or the new one. All other periods are *steady*: each is lit for
//! the duty's whole counts or one more, and each `2^extra_bits` of them together for exactly the
//! duty.

use std::collections::VecDeque;

use super::bench::Output;
use super::machine::{Moment, Period};
use super::{LightFault, LightSeen};
use crate::plan::{Mode, PwmPlan};
use crate::spec::Active;
use crate::units::Duty;

/// Follows one channel.
pub(super) struct Waveform {
    rules: Rules,
    /// The duty, since when it has been put out, and the counts of those it is taking over from.
    duty: Duty,
    since: Moment,
    before: (u32, u32),
    /// From when on periods count.
    from: Moment,
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
    /// Cycles of a timer count, and of a period.
    count: u32,
    period: u32,
    phases: u32,
    /// Counts lit for each count of the duty.
    per_count: u32,
    extra_bits: u8,
    /// What counts from 255 on are lit for.
    full: u32,
    active: Active,
}

impl Waveform {
    /// Follows a channel whose `duty` has been put out `since` then.
    pub fn new(pwm: &PwmPlan, output: &Output, duty: Duty, since: Moment) -> Self {
        let per_count = match pwm.mode {
            Mode::Fast => 1,
            Mode::PhaseCorrect => 2,
        };
        let whole_period = pwm.mode == Mode::Fast && output.full_at_zero;
        let rules = Rules {
            count: pwm.prescaler.into(),
            period: u32::from(pwm.period) * u32::from(pwm.prescaler),
            phases: 1 << pwm.extra_bits,
            per_count,
            extra_bits: pwm.extra_bits,
            full: if whole_period { 256 } else { 255 * per_count },
            active: output.active,
        };
        Self {
            before: (0, rules.full),
            from: since,
            was_dark: false,
            rules,
            duty,
            since,
            waiting: VecDeque::new(),
            steady: VecDeque::new(),
            sum: 0,
            seen: LightSeen::default(),
        }
    }

    /// Takes the periods that ended during a tick which was worked out from `begun` to `done` and
    /// came to `duty`.
    pub fn tick(
        &mut self,
        periods: impl Iterator<Item = Period>,
        begun: Moment,
        done: Moment,
        duty: Duty,
    ) -> Result<(), (Moment, Duty, LightFault)> {
        let from = self.from;
        self.waiting
            .extend(periods.filter(|period| period.start >= from));
        let rules = self.rules;
        let reach = u64::from(rules.period);
        // What is put out while it is worked out may be the old duty or the new one.
        while let Some(period) = self.waiting.front().copied() {
            if period.start + reach > begun {
                break;
            }
            self.waiting.pop_front();
            self.judge(period)?;
        }
        if duty != self.duty {
            // Those that wait, and what comes until `done`, are between two duties, or even three.
            let (least, most) = rules.bounds(self.duty);
            let settled = self.since + reach;
            let late = self.waiting.front().is_some_and(|p| p.start < settled);
            self.before = if late {
                (least.min(self.before.0), most.max(self.before.1))
            } else {
                (least, most)
            };
            self.duty = duty;
            self.since = done;
        }
        Ok(())
    }

    fn judge(&mut self, period: Period) -> Result<(), (Moment, Duty, LightFault)> {
        let rules = self.rules;
        let fault = |fault| Err((period.start, self.duty, fault));
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
        let steady = period.start.0 >= self.since.0 + u64::from(rules.period);
        let (least, most) = rules.bounds(self.duty);
        let allowed = if steady {
            least..=most
        } else {
            // The interrupt may take one byte of the old duty and the other of the new: a count
            // more, once.
            least.min(self.before.0)..=most.max(self.before.1) + rules.per_count
        };
        if !cycles.is_multiple_of(rules.count) || !allowed.contains(&(cycles / rules.count)) {
            return fault(LightFault::Period { counts });
        }
        if !steady {
            self.steady.clear();
            self.sum = 0;
            return Ok(());
        }
        self.seen.steady += 1;
        if self.duty == Duty(0) {
            self.seen.dark += 1;
            if period.edges > 0 && was_dark {
                return fault(LightFault::Glitch {
                    edges: period.edges,
                });
            }
        }
        self.add(cycles / rules.count)
            .map_err(|found| (period.start, self.duty, found))
    }

    fn add(&mut self, counts: u32) -> Result<(), LightFault> {
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
        let expected = self.rules.sum(self.duty);
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

    pub fn seen(&self) -> LightSeen {
        self.seen
    }
}

impl Rules {
    /// The fewest and most counts for which a period is lit.
    fn bounds(self, duty: Duty) -> (u32, u32) {
        let (least, more) = self.parts(duty);
        let lit = |counts| self.lit(counts);
        (lit(least), lit(least + u32::from(more > 0)))
    }

    /// Whole counts, and in how many of the phases there is one more.
    fn parts(self, duty: Duty) -> (u32, u32) {
        let [whole, fraction] = duty.0.to_be_bytes();
        (
            whole.into(),
            u32::from(fraction) >> (8 - self.extra_bits.min(8)),
        )
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
        let (whole, more) = self.parts(duty);
        let plain = u64::from(self.phases - more) * u64::from(self.lit(whole));
        plain + u64::from(more) * u64::from(self.lit(whole + 1))
    }
}
