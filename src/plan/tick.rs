//! The tick: the firmware's unit of time, counted in overflows of the PWM timer.

use num_rational::Ratio;

use super::times::common_divisor;
use super::{ClockPlan, Notes, PwmPlan};
use crate::diagnostic::{Diagnostic, Spanned};
use crate::spec::Project;
use crate::units::{Hertz, Time};

/// Ticks are between these unless the person wants another.
const SHORTEST: Time = Time::from_millis(2);
const LONGEST: Time = Time::from_millis(5);
/// What a tick is near where nothing speaks for another length.
const USUAL: Time = Time::from_millis(4);
/// The overflow counter has 8 bits, with room for the carry of the fraction and a late reader.
const MOST_OVERFLOWS: u128 = 250;
/// Steps of the fraction in an overflow.
const FRACTION: u128 = 1 << 16;

/// An exact span of time.
type Nanoseconds = Ratio<u128>;

/// The length of a tick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tick {
    /// Overflows in every tick…
    pub overflows: u8,
    /// …and 65536ths of one more, carried from tick to tick. 0: none.
    pub fraction: u16,
    /// Every time in the patterns is a whole number of ticks.
    pub whole_ticks: bool,
    /// As the overflows make it.
    pub rate: Hertz,
    /// How far `overflows` and `fraction` are from the length that was meant, in parts per million.
    pub error_ppm: f64,
    /// The length that was meant, in nanoseconds.
    ideal: Nanoseconds,
}

impl Tick {
    /// Whether its fraction needs both bytes.
    pub fn is_fine(&self) -> bool {
        !self.fraction.is_multiple_of(256)
    }

    /// The length that was meant, in seconds. Durations are counted in these.
    pub fn ideal_seconds(&self) -> f64 {
        float(self.ideal) / 1e9
    }

    /// The length as the overflows make it, in seconds.
    pub fn seconds(&self) -> f64 {
        1.0 / self.rate.0
    }

    /// How many ticks a time is; whole where it is so exactly.
    pub fn count(&self, time: Time) -> f64 {
        float(exact(time) / self.ideal)
    }
}

/// `None` after adding an error.
pub(super) fn choose(
    project: &Project,
    clock: &ClockPlan,
    pwm: &PwmPlan,
    notes: &mut Notes,
) -> Option<Tick> {
    let overflow = overflow(clock, pwm);
    let common = common_divisor(project);
    let ideal = match project.tick {
        None => share_of(common, overflow).unwrap_or_else(|| near_usual(overflow)),
        Some(asked) => {
            let ideal = exact(asked.value);
            let overflows = ideal / overflow;
            if overflows < 1.into() || overflows > MOST_OVERFLOWS.into() {
                notes.add(uncountable(asked, overflow, pwm));
                return None;
            }
            ideal
        }
    };
    Some(tick(ideal, overflow, common))
}

fn tick(ideal: Nanoseconds, overflow: Nanoseconds, common: Time) -> Tick {
    let parts = (ideal / overflow * FRACTION).round().to_integer();
    let made = float(overflow * parts / FRACTION);
    Tick {
        overflows: (parts / FRACTION) as u8,
        fraction: (parts % FRACTION) as u16,
        whole_ticks: (exact(common) / ideal).is_integer(),
        rate: Hertz(1e9 / made),
        error_ppm: (made / float(ideal) - 1.0) * 1e6,
        ideal,
    }
}

/// The largest whole share of the common divisor that is a fit length.
fn share_of(common: Time, overflow: Nanoseconds) -> Option<Nanoseconds> {
    let shortest = exact(SHORTEST).max(overflow);
    let longest = exact(LONGEST).max(shortest).min(overflow * MOST_OVERFLOWS);
    let shares = (exact(common) / longest).ceil().max(1.into());
    let share = exact(common) / shares;
    (share >= shortest).then_some(share)
}

/// The whole number of overflows nearest to the usual length.
fn near_usual(overflow: Nanoseconds) -> Nanoseconds {
    let overflows = (exact(USUAL) / overflow).round().to_integer();
    overflow * overflows.clamp(1, MOST_OVERFLOWS)
}

fn uncountable(asked: Spanned<Time>, overflow: Nanoseconds, pwm: &PwmPlan) -> Diagnostic {
    let least = Time(overflow.ceil().to_integer() as u64);
    let most = Time((overflow * MOST_OVERFLOWS).to_integer() as u64);
    Diagnostic::error(
        "C041",
        asked.span,
        format!("a tick of {} cannot be counted", asked.value),
    )
    .label(format!("expected {least} to {most}"))
    .hint(format!(
        "a tick is 1 to {MOST_OVERFLOWS} periods of the PWM, which runs at {}; {USUAL} is usual",
        pwm.frequency
    ))
}

/// The length of a PWM period.
fn overflow(clock: &ClockPlan, pwm: &PwmPlan) -> Nanoseconds {
    let cycles = u128::from(pwm.period) * u128::from(pwm.prescaler);
    let millihertz = (clock.frequency.0 * 1e3).round() as u128;
    Ratio::new(cycles * 1_000_000_000_000, millihertz)
}

fn exact(time: Time) -> Nanoseconds {
    u128::from(time.0).into()
}

fn float(ratio: Ratio<u128>) -> f64 {
    *ratio.numer() as f64 / *ratio.denom() as f64
}
