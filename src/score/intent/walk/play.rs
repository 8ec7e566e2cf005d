//! From step to step: lists of steps are entered, played in rounds and left.

use super::steps::{certain, varies};
use super::{Items, List, Stretches};
use crate::diagnostic::Spanned;
use crate::score::Outcome;
use crate::spec::{self, Step, Target, Times};
use crate::units::Share;

impl<'a> Stretches<'a> {
    /// Plays the next step.
    pub(super) fn play(&mut self) -> Option<()> {
        let list = self.lists.last_mut()?;
        let active = list.active;
        match list.items {
            Items::Steps(steps) => {
                if let Some(step) = steps.get(list.next) {
                    list.next += 1;
                    return self.step(step, active);
                }
            }
            Items::Wave(wave, span) => return self.wave(wave, span),
        }
        match &mut list.rounds {
            Some(0) => {
                self.lists.pop();
            }
            Some(rounds) => {
                *rounds -= 1;
                list.next = 0;
            }
            None => list.next = 0,
        }
        Some(())
    }

    /// `None`: the draws have come to their end.
    fn step(&mut self, step: &'a Spanned<Step>, active: bool) -> Option<()> {
        let span = step.span;
        match &step.value {
            Step::To {
                targets,
                over,
                ease,
            } => {
                let own = active.then(|| self.own(targets)).flatten();
                let drawing = varies(over) || targets.iter().any(|target| varies(&target.level));
                let (over, to) = if drawing {
                    self.timed_draw(own.is_some())?
                } else {
                    (certain(over).0 as f64, own.map(certain))
                };
                match to {
                    Some(to) => self.fade(to, *ease, over, span),
                    None => self.still(over, span),
                }
            }
            Step::Set { targets } => {
                let own = active.then(|| self.own(targets)).flatten();
                let to = if targets.iter().any(|target| varies(&target.level)) {
                    self.timed_draw(own.is_some())?.1
                } else {
                    own.map(certain)
                };
                self.share = to.unwrap_or(self.share);
            }
            Step::Hold(time) => {
                let time = match time {
                    spec::Drawn::Fixed(time) => time.0 as f64,
                    spec::Drawn::Between(..) => self.timed_draw(false)?.0,
                };
                self.still(time, span);
            }
            Step::Stay => self.still(f64::INFINITY, span),
            Step::Repeat { times, steps } => self.enter(Items::Steps(steps), *times, active),
            Step::Pick { channels, steps } => {
                let picked = match channels.as_slice() {
                    [only] => *only,
                    several => several[self.choice()?],
                };
                let active = active && picked == self.channel;
                self.enter(Items::Steps(steps), Times::Count(1), active);
            }
            Step::Branch(branches) => {
                let steps = &branches[self.choice()?];
                self.enter(Items::Steps(steps), Times::Count(1), active);
            }
            Step::Wave(wave) => self.enter(Items::Wave(wave, span), wave.cycles, active),
            Step::Rhythm { times, high, low } => {
                for (time, share) in times.iter().zip([high, low].into_iter().cycle()) {
                    if active {
                        self.share = *share;
                    }
                    self.still(time.value.0 as f64, span);
                }
            }
        }
        Some(())
    }

    fn enter(&mut self, items: Items<'a>, times: Times, active: bool) {
        let rounds = match times {
            Times::Count(0) => return,
            Times::Count(times) => Some(times - 1),
            Times::Forever => None,
        };
        self.lists.push(List {
            items,
            next: 0,
            rounds,
            active,
            wave: None,
        });
    }

    /// The level that one of the targets gives this channel.
    fn own<'t>(&self, targets: &'t [Target]) -> Option<&'t spec::Drawn<Share>> {
        let own = |target: &&Target| target.channels.contains(&self.channel);
        targets.iter().find(own).map(|target| &target.level)
    }

    /// What was drawn for a step: how long it takes, and, for a channel that moves, the level.
    fn timed_draw(&mut self, moves: bool) -> Option<(f64, Option<Share>)> {
        let (ticks, to) = match (self.drawn.next()?, moves) {
            (Outcome::Random(ticks, level), true) => {
                (ticks, Some(Share(f64::from(level.0) / self.top)))
            }
            (Outcome::Keep(ticks), false) => (ticks, None),
            (other, _) => panic!("{other:?} was drawn where the steps draw otherwise"),
        };
        Some((f64::from(ticks.0) * self.tick, to))
    }

    fn choice(&mut self) -> Option<usize> {
        match self.drawn.next()? {
            Outcome::Branch(choice) => Some(usize::from(*choice)),
            other => panic!("{other:?} was drawn where the steps choose"),
        }
    }
}
