//! The tick: the firmware's unit of time, counted in overflows of the PWM timer.

use num_rational::Ratio;

use super::times::common_divisor;
use crate::diagnostic::{Diagnostic, Notes, Spanned};
use crate::drive::PwmPlan;
use crate::spec::Project;
use crate::target::ClockPlan;
use crate::units::{Hertz, Time};

/// Ticks are between these unless the person wants another.
const SHORTEST: Time = Time::from_millis(2);
const LONGEST: Time = Time::from_millis(5);
/// What a tick is near where nothing speaks for another length.
const USUAL: Time = Time::from_millis(4);
/// A light that moves more slowly than that is no light any more, and a button hears no tap.
const MOST: Time = Time::from_millis(250);
/// The overflow counter has 8 bits, with room for the carry of the fraction and a late reader.
pub const MOST_OVERFLOWS: u32 = 250;
/// So many waits more than needed are tried, for one whose fraction takes less to count.
const MORE_WAITS: u32 = 8;
/// Steps of the fraction in an overflow.
const FRACTION: u128 = 1 << 16;

/// An exact span of time.
type Nanoseconds = Ratio<u128>;

/// The length of a tick.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tick {
    /// A tick is so many waits, all alike: more than one where it is longer than a byte can count.
    pub waits: u8,
    /// Overflows in every wait…
    pub overflows: u8,
    /// …and 65536ths of one more, carried from wait to wait. 0: none.
    pub fraction: u16,
    /// Every time in the patterns is a whole number of ticks.
    pub whole_ticks: bool,
    /// As the overflows make it.
    pub rate: Hertz,
    /// How far the waits are from the length that was meant, in parts per million.
    pub error_ppm: f64,
    /// The length that was meant, in nanoseconds.
    ideal: Nanoseconds,
}

impl Tick {
    /// Whether its fraction needs both bytes.
    pub fn is_fine(&self) -> bool {
        !self.fraction.is_multiple_of(256)
    }

    /// Overflows in a tick, on average.
    pub fn in_overflows(&self) -> f64 {
        f64::from(self.waits) * (f64::from(self.overflows) + f64::from(self.fraction) / 65_536.0)
    }

    /// The length that was meant, in seconds. Durations are counted in these.
    pub fn ideal_seconds(&self) -> f64 {
        float(self.ideal) / 1e9
    }

    /// The length as the overflows make it, in seconds.
    pub fn seconds(&self) -> f64 {
        1.0 / self.rate.0
    }

    /// How many times in a row something must be seen, once a tick, to have lasted for a time: what is seen
    /// n times lasts for more than n - 1 ticks.
    pub fn looks(&self, time: Time) -> f64 {
        1.0 + self.count(time).ceil()
    }

    /// How many ticks a time is; whole where it is so exactly.
    pub fn count(&self, time: Time) -> f64 {
        float(exact(time) / self.ideal)
    }
}

/// A tick of the person's, or one of `least` or more. `None` after adding an error.
pub(super) fn choose(
    project: &Project,
    clock: &ClockPlan,
    pwm: &PwmPlan,
    least: Time,
    notes: &mut Notes,
) -> Option<Tick> {
    let overflow = overflow(clock, pwm);
    let common = common_divisor(project);
    let ideal = match project.tick {
        None => {
            let room = Room::new(overflow, least);
            room.share_of(common).unwrap_or_else(|| room.usual())
        }
        Some(asked) => {
            let ideal = exact(asked.value);
            if ideal < overflow || ideal > most(overflow) {
                notes.add(uncountable(asked, overflow, pwm));
                return None;
            }
            ideal
        }
    };
    Some(tick(ideal, overflow, common))
}

fn tick(ideal: Nanoseconds, overflow: Nanoseconds, common: Time) -> Tick {
    let (waits, parts) = waits(ideal / overflow);
    let made = float(overflow * parts * waits / FRACTION);
    Tick {
        waits: waits as u8,
        overflows: (parts / FRACTION) as u8,
        fraction: (parts % FRACTION) as u16,
        whole_ticks: (exact(common) / ideal).is_integer(),
        rate: Hertz(1e9 / made),
        error_ppm: (made / float(ideal) - 1.0) * 1e6,
        ideal,
    }
}

/// The waits of a tick of so many overflows, and what each of them is in 65536ths of one. Of a few
/// numbers of waits, the one whose fraction is counted in the fewest bytes.
fn waits(overflows: Ratio<u128>) -> (u128, u128) {
    let fewest = (overflows / u128::from(MOST_OVERFLOWS))
        .ceil()
        .to_integer()
        .max(1);
    let more = if fewest > 1 { MORE_WAITS } else { 0 };
    let wait = |waits: u128| (waits, (overflows / waits * FRACTION).round().to_integer());
    let bytes = |(_, parts): &(u128, u128)| match parts % FRACTION {
        0 => 0,
        part if part.is_multiple_of(256) => 1,
        _ => 2,
    };
    let most = (fewest + u128::from(more)).min(u8::MAX.into());
    let tried = (fewest..=most).map(wait);
    tried.min_by_key(bytes).unwrap_or(wait(fewest))
}

/// What a tick may last where the person asks for none.
struct Room {
    overflow: Nanoseconds,
    shortest: Nanoseconds,
    longest: Nanoseconds,
}

impl Room {
    /// For ticks of `least` or more.
    fn new(overflow: Nanoseconds, least: Time) -> Self {
        let shortest = exact(SHORTEST).max(overflow).max(exact(least));
        let usual = exact(LONGEST).min(overflow * u128::from(MOST_OVERFLOWS));
        let longest = if exact(least) > exact(SHORTEST) {
            usual.max(shortest * u128::from(LONGEST.0) / u128::from(SHORTEST.0))
        } else {
            usual.max(overflow)
        };
        Self {
            overflow,
            shortest,
            longest: longest.min(most(overflow)).max(shortest),
        }
    }

    /// The largest whole share of the common divisor that is a fit length.
    fn share_of(&self, common: Time) -> Option<Nanoseconds> {
        let shares = (exact(common) / self.longest).ceil().max(1.into());
        let share = exact(common) / shares;
        (share >= self.shortest).then_some(share)
    }

    /// The whole number of overflows nearest to the usual length.
    fn usual(&self) -> Nanoseconds {
        let usual = (exact(USUAL) / self.overflow).round();
        let least = (self.shortest / self.overflow).ceil();
        let most = (self.longest / self.overflow).floor();
        self.overflow * usual.min(most).max(least).max(1.into())
    }
}

/// The longest tick that can be asked for.
fn most(overflow: Nanoseconds) -> Nanoseconds {
    exact(MOST).max(overflow)
}

fn uncountable(asked: Spanned<Time>, overflow: Nanoseconds, pwm: &PwmPlan) -> Diagnostic {
    let least = Time(overflow.ceil().to_integer() as u64);
    let most = Time(most(overflow).to_integer() as u64);
    Diagnostic::error(
        "C041",
        asked.span,
        format!("a tick of {} cannot be counted", asked.value),
    )
    .label(format!("expected {least} to {most}"))
    .hint(format!(
        "a tick is at least one period of the PWM, which runs at {}; {USUAL} is usual",
        pwm.frequency
    ))
}

/// The length of a PWM period.
fn overflow(clock: &ClockPlan, pwm: &PwmPlan) -> Nanoseconds {
    let cycles = u128::from(pwm.cycles().0);
    let millihertz = (clock.frequency.0 * 1e3).round() as u128;
    Ratio::new(cycles * 1_000_000_000_000, millihertz)
}

fn exact(time: Time) -> Nanoseconds {
    u128::from(time.0).into()
}

fn float(ratio: Ratio<u128>) -> f64 {
    *ratio.numer() as f64 / *ratio.denom() as f64
}
