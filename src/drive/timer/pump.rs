//! The charge pump's clock.

use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::PwmPlan;
use crate::spec::Project;
use crate::target::{Claims, PortPin, Target, Toggle};
use crate::units::Hertz;

/// Two pins that toggle in opposite phase, in the overflow interrupt.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpPlan {
    /// The first starts high, the second low.
    pub pins: [PortPin; 2],
    /// Both pins.
    pub mask: u8,
    /// Toggle every so many overflows, a power of two.
    pub every: u8,
    pub clock: Hertz,
    /// What the project asked for.
    pub wish: Hertz,
    /// What `mask` is written to.
    pub toggle: Toggle,
}

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
    let off = |every: &u8| libm::log(clock(*every).0 / wish.0).abs();
    let choices = (0..=MOST_OVERFLOWS.ilog2()).map(|log| 1u8 << log);
    let every = choices
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .expect("not empty");
    let error = clock(every).0 / wish.0 - 1.0;
    if let Some(asked) = asked.clock.filter(|_| error.abs() > 0.01) {
        let message = format!(
            "the charge pump runs at {}, {:+.1} % from the {} asked for",
            clock(every),
            error * 100.0,
            wish
        );
        notes.add(
            Diagnostic::caution("C032", asked.span, message)
                .label("this is the nearest it can be")
                .hint(format!("it can be {} divided by a power of two", clock(1))),
        );
    }
    Some(PumpPlan {
        pins: [target.pin(first), target.pin(second)],
        mask: first.mask() | second.mask(),
        every,
        clock: clock(every),
        wish,
        toggle: target.toggle(first.port),
    })
}
