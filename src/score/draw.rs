//! Draws made when compiling: a track with a seed becomes one without randomness.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::diagnostic::Spanned;
use crate::spec::{ChannelId, Drawn, Step, Target, Times, Track};
use crate::units::{Share, Time};

/// Drawn times are about this far apart, so that a fixed table stays on a grid of ticks.
const GRAIN: u64 = 10_000_000;

/// A track without compile-time draws, and which of its channels play it.
#[derive(Debug, Clone)]
pub struct Resolved {
    pub track: Track,
    /// Of `track.channels`; all of them unless each has draws of its own.
    pub plays: Vec<ChannelId>,
}

/// The track as it is, or, where it asks for draws with a seed, tracks without any. The generator
/// is ChaCha with 8 rounds (crate `rand_chacha`), whose output is the same on every machine.
pub fn resolve(track: &Track) -> Vec<Resolved> {
    let Some(draw) = track.draw else {
        return vec![Resolved {
            track: track.clone(),
            plays: track.channels.clone(),
        }];
    };
    let parts: Vec<Vec<ChannelId>> = if track.each {
        track
            .channels
            .iter()
            .map(|channel| vec![*channel])
            .collect()
    } else {
        vec![track.channels.clone()]
    };
    let fix = |(i, plays): (usize, Vec<ChannelId>)| {
        let mut dice = Dice(ChaCha8Rng::seed_from_u64(
            draw.value.seed.wrapping_add(i as u64),
        ));
        let mut steps = Vec::new();
        for _ in 0..draw.value.rounds {
            steps.extend(dice.steps(&track.steps));
            // What comes after steps that never end is never played.
            if let Some(last) = steps.iter().position(never_ends) {
                steps.truncate(last + 1);
                break;
            }
        }
        let track = Track {
            each: false,
            draw: None,
            steps,
            ..track.clone()
        };
        Resolved { track, plays }
    };
    parts.into_iter().enumerate().map(fix).collect()
}

fn never_ends(step: &Spanned<Step>) -> bool {
    match &step.value {
        Step::Repeat { times, steps } => *times == Times::Forever || steps.iter().any(never_ends),
        Step::Wave(wave) => wave.cycles == Times::Forever,
        Step::Pick { steps, .. } => steps.iter().any(never_ends),
        Step::Stay => true,
        Step::Branch(_) | Step::To { .. } | Step::Set { .. } => false,
        Step::Hold(_) | Step::Rhythm { .. } => false,
    }
}

/// What drawn times are multiples of: a whole part of the greatest common divisor of the range's
/// ends, so that a tick that fits the ends fits what lies between them too.
fn grain(low: u64, high: u64) -> u64 {
    let (mut common, mut rest) = (low, high);
    while rest != 0 {
        (common, rest) = (rest, common % rest);
    }
    let common = common.max(1);
    let least = common.div_ceil(GRAIN);
    let parts = (least..2 * least).find(|parts| common.is_multiple_of(*parts));
    common / parts.unwrap_or(1)
}

struct Dice(ChaCha8Rng);

impl Dice {
    fn steps(&mut self, steps: &[Spanned<Step>]) -> Vec<Spanned<Step>> {
        steps.iter().flat_map(|step| self.step(step)).collect()
    }

    fn step(&mut self, step: &Spanned<Step>) -> Vec<Spanned<Step>> {
        let same = |value| vec![Spanned::new(value, step.span)];
        match &step.value {
            Step::To {
                targets,
                over,
                ease,
            } => same(Step::To {
                targets: self.targets(targets),
                over: self.time(*over),
                ease: *ease,
            }),
            Step::Set { targets } => same(Step::Set {
                targets: self.targets(targets),
            }),
            Step::Hold(time) => same(Step::Hold(self.time(*time))),
            Step::Repeat {
                times: Times::Count(n),
                steps,
            } => (0..*n).flat_map(|_| self.steps(steps)).collect(),
            Step::Repeat { times, steps } => same(Step::Repeat {
                times: *times,
                steps: self.steps(steps),
            }),
            Step::Pick { channels, steps } => {
                let picked = channels[self.0.random_range(0..channels.len())];
                let steps = self.steps(steps);
                steps.into_iter().map(|step| only(picked, step)).collect()
            }
            Step::Branch(branches) => {
                let drawn = self.0.random_range(0..branches.len());
                self.steps(&branches[drawn])
            }
            Step::Wave(_) | Step::Rhythm { .. } | Step::Stay => same(step.value.clone()),
        }
    }

    fn targets(&mut self, targets: &[Target]) -> Vec<Target> {
        let fix = |target: &Target| Target {
            level: self.level(target.level),
            ..target.clone()
        };
        targets.iter().map(fix).collect()
    }

    fn level(&mut self, level: Drawn<Share>) -> Drawn<Share> {
        match level {
            Drawn::Between(a, b) => {
                let (low, high) = (a.0.min(b.0), a.0.max(b.0));
                Drawn::Fixed(Share(self.0.random_range(low..=high)))
            }
            fixed => fixed,
        }
    }

    fn time(&mut self, time: Drawn<Time>) -> Drawn<Time> {
        match time {
            Drawn::Between(a, b) => {
                let (low, high) = (a.min(b).0, a.max(b).0);
                let grain = grain(low, high);
                let drawn = self.0.random_range(0..=(high - low) / grain);
                Drawn::Fixed(Time(low + drawn * grain))
            }
            fixed => fixed,
        }
    }
}

/// The step for a channel that was picked: nobody else moves, but all take the same time.
fn only(picked: ChannelId, step: Spanned<Step>) -> Spanned<Step> {
    let keep = |targets: Vec<Target>| -> Vec<Target> {
        targets
            .into_iter()
            .filter(|target| target.channels.contains(&picked))
            .map(|target| Target {
                channels: vec![picked],
                ..target
            })
            .collect()
    };
    let value = match step.value {
        Step::To {
            targets,
            over,
            ease,
        } => Step::To {
            targets: keep(targets),
            over,
            ease,
        },
        Step::Set { targets } => Step::Set {
            targets: keep(targets),
        },
        Step::Repeat { times, steps } => Step::Repeat {
            times,
            steps: steps.into_iter().map(|step| only(picked, step)).collect(),
        },
        // Waves and rhythms move every channel of their track, so they become a pick of one.
        moving @ (Step::Wave(_) | Step::Rhythm { .. }) => Step::Pick {
            channels: vec![picked],
            steps: vec![Spanned::new(moving, step.span)],
        },
        other => other,
    };
    Spanned::new(value, step.span)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn drawn_times_are_about_ten_milliseconds_apart_and_meet_both_ends() {
        const MS: u64 = 1_000_000;
        assert_eq!(grain(100 * MS, 800 * MS), 10 * MS);
        assert_eq!(grain(7_300_000, 3 * 7_300_000), 7_300_000);
        assert_eq!(grain(25 * MS, 100 * MS), 25 * MS / 4);
        assert_eq!(grain(0, 50 * MS), 10 * MS);
    }
}
