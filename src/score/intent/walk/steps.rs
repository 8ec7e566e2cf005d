//! What can be told of steps without walking through them.

use crate::diagnostic::Spanned;
use crate::spec::{Drawn, Step, Times};

/// The steps of the loop, where the steps are nothing but a loop, and whether what they are never
/// ends by itself.
pub(super) fn innermost(steps: &[Spanned<Step>]) -> (&[Spanned<Step>], bool) {
    match steps {
        [step] => match &step.value {
            Step::Repeat {
                times: Times::Forever,
                steps,
            } => innermost(steps),
            Step::Wave(_) => (steps, false),
            _ => (steps, endless(steps)),
        },
        _ => (steps, endless(steps)),
    }
}

pub(super) fn endless(steps: &[Spanned<Step>]) -> bool {
    steps.iter().any(|step| match &step.value {
        Step::Repeat { times, steps } => *times == Times::Forever || endless(steps),
        Step::Wave(wave) => wave.cycles == Times::Forever,
        Step::Pick { steps, .. } => endless(steps),
        Step::Branch(branches) => branches.iter().any(|steps| endless(steps)),
        Step::Stay => true,
        Step::To { .. } | Step::Set { .. } | Step::Hold(_) | Step::Rhythm { .. } => false,
    })
}

/// Whether the chip draws anything for the steps.
pub(super) fn draws(steps: &[Spanned<Step>]) -> bool {
    steps.iter().any(|step| match &step.value {
        Step::To { targets, over, .. } => {
            varies(over) || targets.iter().any(|target| varies(&target.level))
        }
        Step::Set { targets } => targets.iter().any(|target| varies(&target.level)),
        Step::Hold(time) => varies(time),
        Step::Repeat { steps, .. } => draws(steps),
        Step::Pick { channels, steps } => channels.len() > 1 || draws(steps),
        Step::Branch(_) => true,
        Step::Stay | Step::Wave(_) | Step::Rhythm { .. } => false,
    })
}

pub(super) fn varies<T>(value: &Drawn<T>) -> bool {
    matches!(value, Drawn::Between(..))
}

/// A value that is not drawn.
pub(super) fn certain<T: Copy>(value: &Drawn<T>) -> T {
    match value {
        Drawn::Fixed(value) | Drawn::Between(value, _) => *value,
    }
}
