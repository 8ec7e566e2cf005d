//! Depth and frequency.

use super::planes::Planes;
use crate::diagnostic::{Diagnostic, Notes, Spanned};
use crate::drive::{PwmPlan, Shape};
use crate::spec::Project;
use crate::target::ClockPlan;
use crate::units::Hertz;

/// A frequency further than this from the one asked for gets a caution.
const WORTH_A_WORD: f64 = 0.01;

/// The deepest that is fast enough, or the one nearest to the frequency asked for. `None` after adding an error.
pub(super) fn choose(
    clock: &ClockPlan,
    ports: u8,
    project: &Project,
    notes: &mut Notes,
) -> Option<Planes> {
    let slowest = project.pwm.slowest.value;
    let offers = std::iter::successors(Some(Planes::deepest(ports)), |one| one.shallower());
    let offers: Vec<Planes> = offers.collect();
    let fast = |planes: &&Planes| frequency(clock, **planes).0 >= slowest.0;
    let usable: Vec<Planes> = offers.iter().filter(fast).copied().collect();
    let Some(&deepest) = usable.first() else {
        notes.add(too_slow(clock, &offers, project));
        return None;
    };
    match project.pwm.frequency {
        None => Some(deepest),
        Some(wish) => Some(nearest(clock, &usable, wish, notes)),
    }
}

pub(super) fn frequency(clock: &ClockPlan, planes: Planes) -> Hertz {
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

fn nearest(
    clock: &ClockPlan,
    offers: &[Planes],
    wish: Spanned<Hertz>,
    notes: &mut Notes,
) -> Planes {
    let off = |planes: &Planes| libm::log(frequency(clock, *planes).0 / wish.value.0).abs();
    let by_distance = |a: &&Planes, b: &&Planes| off(a).total_cmp(&off(b));
    let best = *offers.iter().min_by(by_distance).expect("not empty");
    let made = frequency(clock, best);
    let error = made.0 / wish.value.0 - 1.0;
    if error.abs() > WORTH_A_WORD {
        let message = format!(
            "the port is shown at {made}, {:+.1} % from the {} asked for",
            error * 100.0,
            wish.value
        );
        let all = offers
            .iter()
            .map(|planes| frequency(clock, *planes).to_string());
        notes.add(
            Diagnostic::caution("C021", wish.span, message)
                .label("the planes cannot make this")
                .hint(format!("they make {}", all.collect::<Vec<_>>().join(", "))),
        );
    }
    best
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
