//! The charge pump's clock out of the overflow interrupt.

use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::PwmPlan;
use crate::drive::pump::{self, PumpBy, PumpPlan, Toggling};
use crate::drive::pwm::off;
use crate::spec::Project;
use crate::target::{Claims, Target};
use crate::units::{Cycles, Hertz};

/// Toggling slower than this would need a second byte to count in.
const MOST_OVERFLOWS: u8 = 128;

/// `None` without a pump, or after adding an error.
pub(super) fn choose(
    target: Target,
    project: &Project,
    claims: &Claims,
    pwm: &PwmPlan,
    notes: &mut Notes,
) -> Option<PumpPlan> {
    let asked = project.charge_pump.as_ref()?;
    let [first, second] = claims.pump?;
    if first.port != second.port {
        let message = format!("the charge pump's pins {first} and {second} are on different ports");
        notes.add(
            Diagnostic::error("C031", asked.span, message)
                .label("expected two pins of one port")
                .hint("only pins of one port can change at the same instant"),
        );
        return None;
    }
    let clock = |every: u8| Hertz(pwm.frequency.0 / 2.0 / f64::from(every));
    let wish = asked.clock.map_or(clock(1), |clock| clock.value);
    let far = |every: &u8| off(clock(*every), wish);
    let choices = (0..=MOST_OVERFLOWS.ilog2()).map(|log| 1u8 << log);
    let every = choices
        .min_by(|a, b| far(a).total_cmp(&far(b)))
        .expect("not empty");
    let others = format!("it can be {} divided by a power of two", clock(1));
    pump::compare(asked, clock(every), others, notes);
    Some(PumpPlan {
        pins: [target.pin(first), target.pin(second)],
        clock: clock(every),
        half: Cycles(u32::from(every) * pwm.length.0),
        by: PumpBy::Interrupt(Toggling {
            mask: first.mask() | second.mask(),
            every,
            toggle: target.toggle(first.port),
            within: false,
        }),
    })
}
