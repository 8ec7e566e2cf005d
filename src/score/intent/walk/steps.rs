//! What can be told of steps without walking through them.

use super::Stretches;
use crate::diagnostic::Spanned;
use crate::score::intent::stretch::height;
use crate::spec::{ChannelId, Drawn, Step, Target, Times};
use crate::units::Share;

impl Stretches<'_> {
    /// The level after the steps on this channel, where it is the same whatever is drawn.
    pub(super) fn end(
        &self,
        steps: &[Spanned<Step>],
        active: bool,
        before: Option<Share>,
    ) -> Option<Share> {
        let after = |before, step: &Spanned<Step>| self.end_of(&step.value, active, before);
        steps.iter().fold(before, after)
    }

    fn end_of(&self, step: &Step, active: bool, before: Option<Share>) -> Option<Share> {
        match step {
            Step::To { targets, over, .. } if active => self.aim(targets, varies(over), before),
            Step::Set { targets } if active => self.aim(targets, false, before),
            Step::To { .. } | Step::Set { .. } => before,
            Step::Hold(_) | Step::Stay => before,
            Step::Repeat { steps, .. } => self.end(steps, active, before),
            Step::Pick { channels, steps } => {
                let picked = |id: &ChannelId| active && *id == self.channel;
                self.same(
                    channels
                        .iter()
                        .map(|id| self.end(steps, picked(id), before)),
                )
            }
            Step::Branch(branches) => {
                self.same(branches.iter().map(|steps| self.end(steps, active, before)))
            }
            Step::Wave(wave) if active => {
                // The end of a period, a whole one for those that do not lag.
                let lag = (wave.spread.0 * self.place() as f64).rem_euclid(1.0);
                let height = height(wave.shape, 1.0 - lag, lag < 0.5);
                Some(Share(wave.low.0 + (wave.high.0 - wave.low.0) * height))
            }
            Step::Rhythm { low, .. } if active => Some(*low),
            Step::Wave(_) | Step::Rhythm { .. } => before,
        }
    }

    /// What targets set a channel to: where they or their time are drawn, to a whole level.
    fn aim(&self, targets: &[Target], timed: bool, before: Option<Share>) -> Option<Share> {
        let drawn = timed || targets.iter().any(|target| varies(&target.level));
        let own = targets
            .iter()
            .find(|target| target.channels.contains(&self.channel));
        match own.map(|target| target.level) {
            Some(Drawn::Fixed(level)) if drawn => Some(self.whole(level)),
            Some(Drawn::Fixed(level)) => Some(level),
            Some(Drawn::Between(low, high)) => self.same([Some(low), Some(high)]),
            None => before,
        }
    }

    /// The one level that all ends come to on the scale: a whole one where they differ within it.
    fn same(&self, ends: impl IntoIterator<Item = Option<Share>>) -> Option<Share> {
        let mut ends = ends.into_iter();
        let first = ends.next()??;
        ends.try_fold(first, |known, end| match end? {
            end if end == known => Some(known),
            end if self.whole(end) == self.whole(known) => Some(self.whole(known)),
            _ => None,
        })
    }

    fn whole(&self, share: Share) -> Share {
        Share((share.0 * self.top).round() / self.top)
    }
}

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
