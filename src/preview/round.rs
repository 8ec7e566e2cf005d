//! How long a round of a pattern is.

use crate::diagnostic::Spanned;
use crate::spec::{Drawn, Pattern, Step, Times, Track};
use crate::units::Time;

/// A round: the time after which a pattern comes round again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Round {
    pub length: Time,
    /// It does so exactly; otherwise the length is an average, or that of the longest of tracks
    /// that hardly ever meet again.
    pub exact: bool,
}

/// Tracks whose loops meet within so many rounds of the longest are shown until they do.
const MEETING: u64 = 6;

impl Round {
    /// The round of a pattern.
    pub fn of(pattern: &Pattern) -> Self {
        let rounds: Vec<Round> = pattern.tracks.iter().map(track).collect();
        let longest = rounds.iter().map(|round| round.length).max();
        let longest = longest.unwrap_or_default();
        let meeting = rounds.iter().try_fold(1, |sofar, round| {
            multiple(sofar, round.length.0).filter(|&m| m <= longest.0.saturating_mul(MEETING))
        });
        match meeting {
            Some(together) if rounds.iter().all(|round| round.exact) => Self {
                length: Time(together),
                exact: true,
            },
            _ => Self {
                length: longest,
                exact: false,
            },
        }
    }
}

fn track(track: &Track) -> Round {
    let rounds = track.draw.map_or(1, |draw| u64::from(draw.value.rounds));
    let mut round = steps(&track.steps);
    round.length = Time(round.length.0.saturating_mul(rounds));
    round
}

fn steps(steps: &[Spanned<Step>]) -> Round {
    // A last step that never ends is all that recurs.
    let steps_that_count = match steps.split_last() {
        Some((last, _)) if is_endless(&last.value) => std::slice::from_ref(last),
        _ => steps,
    };
    let all = steps_that_count.iter().map(|one| step(&one.value));
    all.fold(exactly(Time(0)), |sum, one| Round {
        length: Time(sum.length.0.saturating_add(one.length.0)),
        exact: sum.exact && one.exact,
    })
}

fn step(step: &Step) -> Round {
    match step {
        Step::To { over, .. } => mean(*over),
        Step::Set { .. } => exactly(Time(0)),
        Step::Hold(time) => mean(*time),
        Step::Repeat { times, steps: body } => times_over(steps(body), *times),
        Step::Pick { steps: body, .. } => Round {
            exact: false,
            ..steps(body)
        },
        Step::Branch(branches) => {
            let sum: u64 = branches.iter().map(|branch| steps(branch).length.0).sum();
            Round {
                length: Time(sum / branches.len().max(1) as u64),
                exact: false,
            }
        }
        Step::Wave(wave) => times_over(exactly(wave.period.value), wave.cycles),
        Step::Rhythm { times, .. } => exactly(Time(times.iter().map(|time| time.value.0).sum())),
    }
}

fn exactly(length: Time) -> Round {
    Round {
        length,
        exact: true,
    }
}

fn mean(time: Drawn<Time>) -> Round {
    match time {
        Drawn::Fixed(time) => exactly(time),
        Drawn::Between(a, b) => Round {
            length: Time((a.0 + b.0) / 2),
            exact: false,
        },
    }
}

fn times_over(round: Round, times: Times) -> Round {
    match times {
        Times::Forever => round,
        Times::Count(n) => Round {
            length: Time(round.length.0.saturating_mul(u64::from(n))),
            ..round
        },
    }
}

fn is_endless(step: &Step) -> bool {
    match step {
        Step::Repeat { times, .. } => *times == Times::Forever,
        Step::Wave(wave) => wave.cycles == Times::Forever,
        _ => false,
    }
}

/// The least common multiple; `None` beyond 64 bits.
fn multiple(a: u64, b: u64) -> Option<u64> {
    let (mut x, mut y) = (a, b);
    while y > 0 {
        (x, y) = (y, x % y);
    }
    (a / x.max(1)).checked_mul(b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn loops_meet_at_the_least_common_multiple() {
        assert_eq!(multiple(6, 4), Some(12));
        assert_eq!(multiple(1, 7), Some(7));
        assert_eq!(multiple(u64::MAX, u64::MAX - 1), None);
    }
}
