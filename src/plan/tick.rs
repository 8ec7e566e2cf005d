//! The tick: the firmware's unit of time, counted in overflows of the PWM timer.

use serde::Serialize;

use super::{ClockPlan, Notes, PwmPlan, error};
use crate::spec::{Drawn, Pattern, Project, Step, Track};
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

/// The length of a tick.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
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
    /// The length that was meant, in nanoseconds: numerator and denominator.
    ideal: Fraction,
}

impl Tick {
    /// The length that was meant, in seconds. Durations are counted in these.
    pub fn ideal_seconds(&self) -> f64 {
        self.ideal.value() / 1e9
    }

    /// The length as the overflows make it, in seconds.
    pub fn seconds(&self) -> f64 {
        1.0 / self.rate.0
    }

    /// How many ticks a time is; whole where it is so exactly.
    pub fn count(&self, time: Time) -> f64 {
        let ticks = Fraction::new(u128::from(time.0) * self.ideal.below, self.ideal.above);
        ticks.value()
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
    let common = project
        .patterns
        .iter()
        .fold(0, |common, pattern| gcd(common, pattern_times(pattern)));
    let ideal = match project.tick {
        Some(asked) => {
            let ideal = Fraction::new(u128::from(asked.value.0), 1);
            let overflows = ideal.over(overflow).value();
            if !(1.0..=MOST_OVERFLOWS as f64).contains(&overflows) {
                let least = Time(overflow.value().ceil() as u64);
                let most = Time((overflow.value() * MOST_OVERFLOWS as f64).floor() as u64);
                let message = format!("a tick of {} cannot be counted", asked.value);
                let label = format!("expected {least} to {most}");
                notes.add(
                    error("C041", asked.span, message, &label).with_hint(format!(
                        "a tick is 1 to {MOST_OVERFLOWS} periods of the PWM, which runs at {}; \
                     {USUAL} is usual",
                        pwm.frequency
                    )),
                );
                return None;
            }
            ideal
        }
        None => share_of(common, overflow).unwrap_or_else(|| near_usual(overflow)),
    };
    Some(tick(ideal, overflow, common))
}

fn tick(ideal: Fraction, overflow: Fraction, common: u64) -> Tick {
    let parts = ideal.over(overflow).times(FRACTION).rounded();
    let made = overflow.times(parts).value() / FRACTION as f64;
    let in_ticks = Fraction::new(u128::from(common) * ideal.below, ideal.above);
    Tick {
        overflows: (parts / FRACTION) as u8,
        fraction: (parts % FRACTION) as u16,
        whole_ticks: in_ticks.is_whole(),
        rate: Hertz(1e9 / made),
        error_ppm: (made / ideal.value() - 1.0) * 1e6,
        ideal,
    }
}

/// The largest whole share of the common divisor that is a fit length.
fn share_of(common: u64, overflow: Fraction) -> Option<Fraction> {
    let shortest = (SHORTEST.0 as f64).max(overflow.value());
    let longest = (LONGEST.0 as f64)
        .max(shortest)
        .min(overflow.value() * MOST_OVERFLOWS as f64);
    let parts = (common as f64 / longest).ceil().max(1.0);
    (common as f64 / parts >= shortest).then(|| Fraction::new(common.into(), parts as u128))
}

/// The whole number of overflows nearest to the usual length.
fn near_usual(overflow: Fraction) -> Fraction {
    let overflows = (USUAL.0 as f64 / overflow.value()).round();
    overflow.times((overflows as u128).clamp(1, MOST_OVERFLOWS))
}

/// The length of a PWM period in nanoseconds.
fn overflow(clock: &ClockPlan, pwm: &PwmPlan) -> Fraction {
    let cycles = u128::from(pwm.period) * u128::from(pwm.prescaler);
    let millihertz = (clock.frequency.0 * 1e3).round() as u128;
    Fraction::new(cycles * 1_000_000_000_000, millihertz)
}

fn pattern_times(pattern: &Pattern) -> u64 {
    pattern
        .tracks
        .iter()
        .fold(0, |common, track| gcd(common, track_times(track)))
}

fn track_times(track: &Track) -> u64 {
    let shifts = gcd(track.stagger.value.0, track.ahead.value.0);
    gcd(
        shifts,
        steps_times(track.steps.iter().map(|step| &step.value)),
    )
}

/// The greatest common divisor of all times in the steps.
fn steps_times<'a>(steps: impl Iterator<Item = &'a Step>) -> u64 {
    steps.fold(0, |common, step| gcd(common, step_times(step)))
}

fn step_times(step: &Step) -> u64 {
    match step {
        Step::To { over, .. } => drawn(over),
        Step::Set { .. } => 0,
        Step::Hold(time) => drawn(time),
        Step::Repeat { steps, .. } | Step::Pick { steps, .. } => {
            steps_times(steps.iter().map(|step| &step.value))
        }
        Step::Branch(branches) => steps_times(branches.iter().flatten().map(|step| &step.value)),
        Step::Wave(wave) => wave.period.value.0,
        Step::Rhythm { times, .. } => times
            .iter()
            .fold(0, |common, time| gcd(common, time.value.0)),
    }
}

fn drawn(time: &Drawn<Time>) -> u64 {
    match time {
        Drawn::Fixed(time) => time.0,
        Drawn::Between(least, most) => gcd(least.0, most.0),
    }
}

/// 0 counts as a multiple of everything.
fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}

/// An exact ratio of whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
struct Fraction {
    above: u128,
    below: u128,
}

impl Fraction {
    fn new(above: u128, below: u128) -> Self {
        let (mut a, mut b) = (above, below);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        Self {
            above: above / a,
            below: below / a,
        }
    }

    fn over(self, other: Self) -> Self {
        Self::new(self.above * other.below, self.below * other.above)
    }

    fn times(self, whole: u128) -> Self {
        Self::new(self.above * whole, self.below)
    }

    fn value(self) -> f64 {
        self.above as f64 / self.below as f64
    }

    fn is_whole(self) -> bool {
        self.below == 1
    }

    fn rounded(self) -> u128 {
        (2 * self.above + self.below) / (2 * self.below)
    }
}
