//! Depth and frequency.

use super::planes::Planes;
use crate::diagnostic::{Diagnostic, Notes, Spanned};
use crate::drive::pwm::{Makes, listed, nearest};
use crate::drive::{PwmPlan, Shape};
use crate::spec::Project;
use crate::target::ClockPlan;
use crate::units::Hertz;

/// The deepest that is fast enough, or the one nearest to the frequency asked for. `None` after adding an error.
pub(in crate::drive) fn choose(
    clock: &ClockPlan,
    deepest: Planes,
    project: &Project,
    wish: Option<Spanned<Hertz>>,
    notes: &mut Notes,
) -> Option<Planes> {
    let slowest = project.pwm.slowest.value;
    let offers: Vec<Planes> = deepest.and_shallower().collect();
    let fast = |planes: &&Planes| frequency(clock, **planes).0 >= slowest.0;
    let usable: Vec<Planes> = offers.iter().filter(fast).copied().collect();
    let Some(&deepest) = usable.first() else {
        notes.add(too_slow(clock, &offers, project));
        return None;
    };
    match wish {
        None => Some(deepest),
        Some(wish) => {
            let made = |planes: &Planes| frequency(clock, *planes);
            let makes = Makes {
                runs: "the port is shown",
                by: "planes",
                possible: listed(usable.iter().map(made)),
            };
            Some(nearest(&usable, made, wish, makes, notes))
        }
    }
}

pub(in crate::drive) fn frequency(clock: &ClockPlan, planes: Planes) -> Hertz {
    Hertz(clock.frequency.0 / f64::from(planes.frame().0))
}

pub(super) fn plan(clock: &ClockPlan, planes: Planes) -> PwmPlan {
    let frequency = frequency(clock, planes);
    PwmPlan {
        shape: Shape::BitAngle,
        frequency,
        length: planes.frame(),
        whole: 255,
        extra_bits: planes.bits - 8,
        slowest: frequency,
    }
}

fn too_slow(clock: &ClockPlan, offers: &[Planes], project: &Project) -> Diagnostic {
    let slowest = project.pwm.slowest;
    let coarsest = offers.last().copied().expect("there is always a deepest");
    let most = frequency(clock, coarsest);
    let span = project.clock.map_or(slowest.span, |clock| clock.span);
    let needed = Hertz(slowest.value.0 * f64::from(coarsest.frame().0));
    let message = format!(
        "the port would be shown at {most} with {} bits, below the slowest light allowed, {}",
        coarsest.bits, slowest.value
    );
    Diagnostic::error("C022", span, message)
        .label("this would flicker")
        .hint(format!(
            "a clock of {needed} or more would do; so would PWM pins"
        ))
}
