//! PWM mode, prescaler and depth.

use super::{ClockPlan, Mode, Notes, PwmPlan, caution, error};
use crate::chip::Timer;
use crate::diagnostic::Diagnostic;
use crate::spec::{Project, PwmMode};
use crate::units::Hertz;

/// The most depth that one byte of fraction can carry.
const MOST_EXTRA_BITS: u32 = 8;

/// `None` after adding an error.
pub(super) fn choose(
    clock: &ClockPlan,
    used: &[&Timer],
    project: &Project,
    notes: &mut Notes,
) -> Option<PwmPlan> {
    let slowest = project.pwm.slowest;
    let offers = offers(clock, used, project.pwm.mode.value);
    if offers.is_empty() {
        notes.add(no_such_mode(used, project));
        return None;
    }
    let best = match project.pwm.frequency {
        None => offers[0],
        Some(wish) => {
            let off = |offer: &Offer| (offer.frequency.0 / wish.value.0).ln().abs();
            let best = *offers
                .iter()
                .min_by(|a, b| off(a).total_cmp(&off(b)))
                .expect("not empty");
            let error = best.frequency.0 / wish.value.0 - 1.0;
            if error.abs() > 0.01 {
                let message = format!(
                    "PWM runs at {}, {:+.1} % from the {} asked for",
                    best.frequency,
                    error * 100.0,
                    wish.value
                );
                notes.add(
                    caution(
                        "C021",
                        wish.span,
                        message,
                        "this is the nearest the timers can make",
                    )
                    .with_hint(format!("they make {}", list(&offers))),
                );
            }
            best
        }
    };
    if best.frequency.0 < slowest.value.0 {
        let span = project.pwm.frequency.map_or(slowest.span, |wish| wish.span);
        let message = format!(
            "PWM at {} is slower than the slowest light allowed, {}",
            best.frequency, slowest.value
        );
        let fastest = offers[0].frequency;
        let hint = if fastest.0 < slowest.value.0 {
            format!(
                "with a {} clock it can be {fastest} at most: use a faster clock",
                clock.frequency
            )
        } else {
            format!("it can be {fastest}")
        };
        notes.add(error("C022", span, message, "expected no flicker").with_hint(hint));
        return None;
    }
    let extra_bits = (best.frequency.0 / slowest.value.0).log2().floor() as u32;
    let extra_bits = extra_bits.min(MOST_EXTRA_BITS) as u8;
    Some(PwmPlan {
        mode: best.mode,
        prescaler: best.prescaler,
        frequency: best.frequency,
        period: best.mode.period(),
        whole: best.mode.whole(),
        extra_bits,
        slowest: Hertz(best.frequency.0 / f64::from(1u32 << extra_bits)),
    })
}

#[derive(Debug, Clone, Copy)]
struct Offer {
    mode: Mode,
    prescaler: u16,
    frequency: Hertz,
}

/// What all the used timers can do, fastest first. Empty: one of them lacks the only mode asked for.
fn offers(clock: &ClockPlan, used: &[&Timer], wish: PwmMode) -> Vec<Offer> {
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
    let mut offers: Vec<Offer> = shared
        .flat_map(|prescaler| modes.iter().map(move |&mode| (mode, prescaler)))
        .filter(|&(mode, _)| can(mode))
        .map(|(mode, prescaler)| Offer {
            mode,
            prescaler,
            frequency: mode.frequency(clock.frequency, prescaler),
        })
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
    error(
        "C023",
        project.pwm.mode.span,
        message,
        "expected a mode that every timer in use has",
    )
    .with_hint("use `fast`, or other pins")
}

fn list(offers: &[Offer]) -> String {
    let names: Vec<String> = offers
        .iter()
        .map(|offer| offer.frequency.to_string())
        .collect();
    names.join(", ")
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
