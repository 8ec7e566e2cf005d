//! The charge pump's clock out of the light's interrupt, where no timer is left that has its pins as outputs: the
//! overflows come evenly, and both pins change with each.

use crate::diagnostic::Notes;
use crate::drive::port::{OVERFLOW, Planes};
use crate::drive::pump::{self, PumpBy, PumpPlan, Toggling};
use crate::drive::{PortPlan, PwmPlan};
use crate::spec::ChargePump;
use crate::target::{Claims, Target};
use crate::units::{Cycles, Hertz};

/// On the light's own port the pins are written with the planes, of which that of the second overflow has them the
/// other way round. With fewer bits than this it would be shown in the first one too.
const LEAST_BITS: u8 = 9;

/// How both pins that the project names are changed, if they can be.
pub(super) fn toggling(
    target: Target,
    claims: &Claims,
    port: &PortPlan,
    planes: Planes,
) -> Option<Toggling> {
    let [first, second] = claims.pump?;
    let possible = ports(target, port, planes).contains(&first.port);
    (first.port == second.port && possible).then(|| Toggling {
        mask: first.mask() | second.mask(),
        every: 1,
        toggle: target.toggle(first.port),
        within: first.port == port.letter,
    })
}

/// The ports of which any two pins can be changed.
pub(super) fn ports(target: Target, port: &PortPlan, planes: Planes) -> Vec<char> {
    let within = planes.bits >= LEAST_BITS;
    let can = |letter: &char| match *letter == port.letter {
        true => within,
        false => target.chip.pin_toggles,
    };
    target.chip.ports.keys().copied().filter(can).collect()
}

pub(super) fn plan(
    target: Target,
    (asked, claims): (&ChargePump, &Claims),
    toggling: Toggling,
    pwm: &PwmPlan,
    notes: &mut Notes,
) -> Option<PumpPlan> {
    let clock = Hertz(pwm.frequency.0 / 2.0);
    pump::compare(asked, clock, format!("it can be {clock} alone"), notes);
    Some(PumpPlan {
        pins: claims.pump?.map(|pin| target.pin(pin)),
        clock,
        half: Cycles(OVERFLOW),
        by: PumpBy::Interrupt(toggling),
    })
}
