//! The PWM that serves best where the person asks for none: the fastest has the most levels, but a switch
//! that is slow to let go spoils less of fewer and longer pulses.

use std::collections::BTreeSet;

use super::tick;
use crate::board::{LampError, Risk, flicker_risk, light_error};
use crate::design::{Design, Slowed};
use crate::diagnostic::Spanned;
use crate::drive::port::{Planes, PortDrive};
use crate::drive::timer::Mode;
use crate::drive::{Drive, Shape};
use crate::plan::Plan;
use crate::spec::{Project, PwmMode};
use crate::units::{Bytes, DeltaLightness, Hertz};

/// Errors of the curve itself up to this are not seen, or hardly, in L*.
const HARDLY_SEEN: DeltaLightness = DeltaLightness(1.0);

/// What a slower PWM must leave of an error that is seen all the same, to be worth its fewer levels
/// (common practice, no source).
const WORTH_IT: f64 = 0.5;

/// The design as it is, unless its LEDs are known to be off by what can be seen. Then, of the slower PWMs that
/// flicker no worse and are as true at the pin, the fastest with which nobody sees it; or else the one with the
/// least of it, where that is much less.
pub(super) fn weighed(design: Design, before: &impl Fn(&Plan) -> Bytes) -> Design {
    let pwm = design.project.pwm.clone();
    if pwm.frequency.is_some() || !matches!(design.plan.drive, Drive::Timer(_)) {
        return design;
    }
    let Some(error) = light_error(&design).filter(LampError::is_seen) else {
        return design;
    };
    let own = Judged::new(&design);
    let from = design.plan.drive.pwm().frequency;
    let slower = offers(&design)
        .into_iter()
        .filter(|(_, frequency)| *frequency < from);
    let slower = slower.filter_map(|(shape, frequency)| {
        let other = tick::with_room(asking(&design.project, shape, frequency), before).ok()?;
        let left = light_error(&other)?.strain();
        let fit = Judged::new(&other).is_no_worse_than(&own);
        (fit && left <= error.strain() * WORTH_IT).then_some((left, other))
    });
    // Those that are not seen are alike, and the first of equals is the fastest.
    let seen = |left: f64| left.max(1.0);
    match slower.min_by(|(a, _), (b, _)| seen(*a).total_cmp(&seen(*b))) {
        Some((_, mut better)) => {
            // The person has not asked for it.
            better.project.pwm = pwm;
            better.slowed = Some(Slowed {
                error: DeltaLightness(error.typical.error.abs()),
                fastest: Box::new(design),
            });
            better
        }
        None => design,
    }
}

/// What must not get worse.
struct Judged {
    flicker: Risk,
    at_pin: DeltaLightness,
}

impl Judged {
    fn new(design: &Design) -> Self {
        Self {
            flicker: flicker_risk(design),
            at_pin: design.deck.light.figures.largest_error.0,
        }
    }

    fn is_no_worse_than(&self, other: &Self) -> bool {
        self.flicker <= other.flicker && self.at_pin.0 <= other.at_pin.0.max(HARDLY_SEEN.0)
    }
}

/// Every PWM that the design's drive may have, the fastest first. Not all that are listed can be made by
/// the very timers in use.
pub(crate) fn offers(design: &Design) -> Vec<(Shape, Hertz)> {
    let own = design.plan.drive.pwm();
    let offers = match &design.plan.drive {
        Drive::Timer(_) => of_timers(design),
        Drive::Port(port) => of_planes(design, port),
        // Beside a port there is but one.
        Drive::Mixed(_) => vec![(own.shape, own.frequency)],
    };
    let slowest = design.project.pwm.slowest.value;
    let usable = offers.into_iter();
    let mut usable: Vec<_> = usable
        .filter(|(_, frequency)| *frequency >= slowest)
        .collect();
    usable.sort_by(|(_, a), (_, b)| b.0.total_cmp(&a.0));
    usable
}

/// The same project with another PWM.
pub(crate) fn asking(project: &Project, shape: Shape, frequency: Hertz) -> Project {
    let mut project = project.clone();
    let mode = match shape {
        Shape::Pulse(Mode::Fast) => PwmMode::Fast,
        Shape::Pulse(Mode::PhaseCorrect) => PwmMode::PhaseCorrect,
        Shape::BitAngle => PwmMode::Auto,
    };
    project.pwm.mode = project.pwm.mode.map(|_| mode);
    project.pwm.frequency = Some(Spanned::new(frequency, project.pwm.mode.span));
    project
}

/// What fewer planes would do.
fn of_planes(design: &Design, port: &PortDrive) -> Vec<(Shape, Hertz)> {
    let clock = design.plan.clock.frequency.0;
    let offers = Planes::deepest(port.planes.ports).and_shallower();
    offers
        .map(|planes| (Shape::BitAngle, Hertz(clock / f64::from(planes.frame().0))))
        .collect()
}

fn of_timers(design: &Design) -> Vec<(Shape, Hertz)> {
    let plan = &design.plan;
    let timers = plan.chip.timers.iter();
    let timers = timers.filter(|timer| !timer.outputs.is_empty());
    let prescalers: BTreeSet<u16> = timers
        .flat_map(|timer| timer.prescalers.keys().copied())
        .collect();
    let modes: &[Mode] = match design.project.pwm.mode.value {
        PwmMode::Auto => &[Mode::Fast, Mode::PhaseCorrect],
        PwmMode::Fast => &[Mode::Fast],
        PwmMode::PhaseCorrect => &[Mode::PhaseCorrect],
    };
    let offers = prescalers
        .into_iter()
        .flat_map(|prescaler| modes.iter().map(move |&mode| (mode, prescaler)))
        .map(|(mode, prescaler)| {
            let frequency = mode.frequency(plan.clock.frequency, prescaler);
            (Shape::Pulse(mode), frequency)
        });
    offers.collect()
}
