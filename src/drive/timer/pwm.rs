//! PWM mode, prescaler and depth.

use serde::Serialize;

use crate::chip::Timer;
use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::pwm::{Makes, listed, nearest};
use crate::drive::{PwmPlan, Shape};
use crate::spec::{Project, PwmMode};
use crate::target::ClockPlan;
use crate::units::{Cycles, Hertz};

/// How the timers make their PWM.
///
/// Fast: on for n of 256 counts, n = 255 − compare. Phase-correct: on for 2n of 510. One period in
/// `2^extra_bits` is on for longer, so the average has `8 + extra_bits` bits; see
/// [`Dither`](super::Dither).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    pub mode: Mode,
    pub prescaler: u16,
    /// Of one PWM period, and of the overflow interrupt.
    pub frequency: Hertz,
    /// Timer counts in a period: 256 or 510.
    pub period: u16,
    /// On-counts that mean the whole period: 256 or 255.
    pub whole: u16,
    /// Bits of depth that are spread over time, 0 to 8.
    pub extra_bits: u8,
    /// The slowest component of the light at any level: frequency / 2^extra_bits.
    pub slowest: Hertz,
}

impl Timing {
    /// Without more depth than a timer has.
    fn plain(mode: Mode, prescaler: u16, clock: Hertz) -> Self {
        let frequency = mode.frequency(clock, prescaler);
        Self {
            mode,
            prescaler,
            frequency,
            period: mode.period(),
            whole: mode.whole(),
            extra_bits: 0,
            slowest: frequency,
        }
    }

    /// From one overflow to the next.
    pub fn cycles(&self) -> Cycles {
        Cycles(u32::from(self.period) * u32::from(self.prescaler))
    }

    /// Half a period.
    pub fn half(&self) -> Cycles {
        Cycles(self.cycles().0 / 2)
    }

    /// Cycles that a pin is on for a count of a duty.
    pub fn per_count(&self) -> Cycles {
        let counts = match self.mode {
            Mode::Fast => 1,
            Mode::PhaseCorrect => 2,
        };
        Cycles(counts * u32::from(self.prescaler))
    }

    pub(super) fn plan(&self) -> PwmPlan {
        PwmPlan {
            shape: Shape::Pulse(self.mode),
            frequency: self.frequency,
            length: self.cycles(),
            whole: self.whole,
            extra_bits: self.extra_bits,
            slowest: self.slowest,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    Fast,
    PhaseCorrect,
}

/// The most depth that one byte of fraction can carry.
const MOST_EXTRA_BITS: u32 = 8;

/// `None` after adding an error.
pub(super) fn choose(
    clock: &ClockPlan,
    used: &[&Timer],
    project: &Project,
    notes: &mut Notes,
) -> Option<Timing> {
    let offers = offers(clock, used, project.pwm.mode.value);
    let Some(&fastest) = offers.first() else {
        notes.add(no_such_mode(used, project));
        return None;
    };
    let best = match project.pwm.frequency {
        None => fastest,
        Some(wish) => {
            let frequencies = offers.iter().map(|offer| offer.frequency);
            let makes = Makes {
                runs: "the PWM runs",
                by: "timers",
                // Those that do not flicker.
                possible: listed(frequencies.filter(|hertz| *hertz >= project.pwm.slowest.value)),
            };
            nearest(&offers, |offer| offer.frequency, wish, makes, notes)
        }
    };
    let slowest = project.pwm.slowest.value;
    if best.frequency < slowest {
        notes.add(too_slow(best, fastest, clock, project));
        return None;
    }
    let extra_bits = libm::log2(best.frequency.0 / slowest.0).floor() as u32;
    let extra_bits = extra_bits.min(MOST_EXTRA_BITS) as u8;
    Some(Timing {
        extra_bits,
        slowest: Hertz(best.frequency.0 / f64::from(1u32 << extra_bits)),
        ..best
    })
}

fn too_slow(best: Timing, fastest: Timing, clock: &ClockPlan, project: &Project) -> Diagnostic {
    let slowest = project.pwm.slowest;
    let asked = project.pwm.frequency.map(|wish| wish.span);
    let span = asked
        .or(project.clock.map(|clock| clock.span))
        .unwrap_or(slowest.span);
    let message = format!(
        "the PWM would run at {}, below the slowest light allowed, {}",
        best.frequency, slowest.value
    );
    let hint = if fastest.frequency < slowest.value {
        format!(
            "{} is the most with a clock of {}",
            fastest.frequency, clock.frequency
        )
    } else {
        format!("it can run at up to {}", fastest.frequency)
    };
    Diagnostic::error("C022", span, message)
        .label("this would flicker")
        .hint(hint)
}

/// What all the used timers can do without more depth, fastest first. Empty: one of them lacks the only mode
/// asked for.
pub(in crate::drive) fn offers(clock: &ClockPlan, used: &[&Timer], wish: PwmMode) -> Vec<Timing> {
    let modes: &[Mode] = match wish {
        PwmMode::Auto => &[Mode::Fast, Mode::PhaseCorrect],
        PwmMode::Fast => &[Mode::Fast],
        PwmMode::PhaseCorrect => &[Mode::PhaseCorrect],
    };
    let can = |mode: Mode| match mode {
        Mode::Fast => true,
        Mode::PhaseCorrect => used.iter().all(|timer| timer.phase_correct.is_some()),
    };
    let shared = used[0]
        .prescalers
        .keys()
        .copied()
        .filter(|by| used.iter().all(|timer| timer.prescalers.contains_key(by)));
    let mut offers: Vec<Timing> = shared
        .flat_map(|prescaler| modes.iter().map(move |&mode| (mode, prescaler)))
        .filter(|&(mode, _)| can(mode))
        .map(|(mode, prescaler)| Timing::plain(mode, prescaler, clock.frequency))
        .collect();
    offers.sort_by(|a, b| b.frequency.0.total_cmp(&a.frequency.0));
    offers
}

fn no_such_mode(used: &[&Timer], project: &Project) -> Diagnostic {
    let without: Vec<String> = used
        .iter()
        .filter(|timer| timer.phase_correct.is_none())
        .flat_map(|timer| &timer.outputs)
        .map(|output| output.pin.to_string())
        .collect();
    let without = without.join(" and ");
    let message = format!("the timer on {without} has no phase-correct PWM");
    Diagnostic::error("C023", project.pwm.mode.span, message)
        .label("expected a mode that every timer in use has")
        .hint("use `fast`, or other pins")
}

impl Mode {
    /// Timer counts in a period with TOP 255.
    ///
    /// Source: ATmega328P datasheet (DS40002061), 'Fast PWM Mode': f = f_clk / (N · 256), and 'Phase
    /// Correct PWM Mode': f = f_clk / (N · 510).
    pub fn period(self) -> u16 {
        match self {
            Self::Fast => 256,
            Self::PhaseCorrect => 510,
        }
    }

    /// On-counts that would mean the whole period.
    pub fn whole(self) -> u16 {
        match self {
            Self::Fast => 256,
            Self::PhaseCorrect => 255,
        }
    }

    /// PWM frequency with TOP 255.
    pub fn frequency(self, clock: Hertz, prescaler: u16) -> Hertz {
        Hertz(clock.0 / f64::from(prescaler) / f64::from(self.period()))
    }
}
