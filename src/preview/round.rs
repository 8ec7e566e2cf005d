//! How long a round of a pattern is.

use crate::diagnostic::Spanned;
use crate::spec::{Drawn, Pattern, Step, Times, Track};
use crate::units::Time;

/// A round: the time after which a pattern comes round again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Round {
    pub length: Time,
    /// What is played once, before the first round.
    pub lead: Time,
    /// It does so exactly; otherwise the length is an average, or that of the longest of tracks
    /// that hardly ever meet again.
    pub exact: bool,
}

/// Tracks whose loops meet within so many rounds of the longest are shown until they do.
const MEETING: u64 = 6;

/// What comes round of light that stays as it is: nothing, so that others' rounds count.
const STILL: Time = Time(1);

impl Round {
    /// Whether all that comes round is light that stays as it is.
    pub fn stays(&self) -> bool {
        self.length == STILL
    }

    /// The round of a pattern.
    pub fn of(pattern: &Pattern) -> Self {
        let rounds: Vec<Round> = pattern.tracks.iter().map(track).collect();
        let most = |time: fn(&Round) -> Time| rounds.iter().map(time).max().unwrap_or_default();
        let lead = most(|round| round.lead);
        let longest = most(|round| round.length);
        let meeting = rounds.iter().try_fold(1, |sofar, round| {
            multiple(sofar, round.length.0).filter(|&m| m <= longest.0.saturating_mul(MEETING))
        });
        match meeting {
            Some(together) if rounds.iter().all(|round| round.exact) => Self {
                length: Time(together),
                lead,
                exact: true,
            },
            _ => Self {
                length: longest,
                lead,
                exact: false,
            },
        }
    }
}

fn track(track: &Track) -> Round {
    let last = track.steps.split_last();
    let rounds = match (last, track.draw) {
        (Some((last, _)), Some(draw)) if !is_endless(&last.value) => draw.value.rounds.into(),
        _ => 1,
    };
    let (lead, loops) = match last {
        // By itself, an endless step is what a track does anyway.
        Some((last, before)) if is_endless(&last.value) && !before.is_empty() => {
            // Channels further back wait for their turn.
            let behind = track.channels.len().saturating_sub(1) as u64;
            let wait = track.stagger.value.0.saturating_mul(behind);
            let lead = steps(before).length.0.saturating_add(wait);
            (lead, std::slice::from_ref(last))
        }
        _ => (0, track.steps.as_slice()),
    };
    let round = steps(loops);
    Round {
        length: Time(round.length.0.saturating_mul(rounds)),
        lead: Time(lead),
        ..round
    }
}

fn steps(steps: &[Spanned<Step>]) -> Round {
    let all = steps.iter().map(|one| step(&one.value));
    all.fold(exactly(Time(0)), |sum, one| Round {
        length: Time(sum.length.0.saturating_add(one.length.0)),
        exact: sum.exact && one.exact,
        ..sum
    })
}

fn step(step: &Step) -> Round {
    match step {
        Step::To { over, .. } => mean(*over),
        Step::Set { .. } => exactly(Time(0)),
        Step::Hold(time) => mean(*time),
        Step::Stay => exactly(STILL),
        Step::Repeat { times, steps: body } => times_over(steps(body), *times),
        Step::Pick { steps: body, .. } => Round {
            exact: false,
            ..steps(body)
        },
        Step::Branch(branches) => {
            let sum: u64 = branches.iter().map(|branch| steps(branch).length.0).sum();
            Round {
                exact: false,
                ..exactly(Time(sum / branches.len().max(1) as u64))
            }
        }
        Step::Wave(wave) => times_over(exactly(wave.period.value), wave.cycles),
        Step::Rhythm { times, .. } => exactly(Time(times.iter().map(|time| time.value.0).sum())),
    }
}

fn exactly(length: Time) -> Round {
    Round {
        length,
        lead: Time(0),
        exact: true,
    }
}

fn mean(time: Drawn<Time>) -> Round {
    match time {
        Drawn::Fixed(time) => exactly(time),
        Drawn::Between(a, b) => Round {
            exact: false,
            ..exactly(Time((a.0 + b.0) / 2))
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
        Step::Stay => true,
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
