//! The times that a project's patterns name.

use crate::score::{Resolved, resolve};
use crate::spec::{Drawn, Pattern, Project, Step, Track};
use crate::units::Time;

/// The greatest common divisor of all times in the patterns; zero when there are none.
pub(super) fn common_divisor(project: &Project) -> Time {
    let patterns = project.patterns.iter().map(pattern_times);
    Time(patterns.fold(0, gcd))
}

/// Those that are drawn at compile time included.
fn pattern_times(pattern: &Pattern) -> u64 {
    let tracks = pattern.tracks.iter().flat_map(resolve);
    tracks
        .map(|Resolved { track, .. }| track_times(&track))
        .fold(0, gcd)
}

fn track_times(track: &Track) -> u64 {
    let shifts = gcd(track.stagger.value.0, track.ahead.value.0);
    gcd(
        shifts,
        steps_times(track.steps.iter().map(|step| &step.value)),
    )
}

fn steps_times<'a>(steps: impl Iterator<Item = &'a Step>) -> u64 {
    steps.map(step_times).fold(0, gcd)
}

fn step_times(step: &Step) -> u64 {
    match step {
        Step::Set { .. } | Step::Stay => 0,
        Step::To { over: time, .. } | Step::Hold(time) => drawn(time),
        Step::Repeat { steps, .. } | Step::Pick { steps, .. } => {
            steps_times(steps.iter().map(|step| &step.value))
        }
        Step::Branch(branches) => steps_times(branches.iter().flatten().map(|step| &step.value)),
        Step::Wave(wave) => wave.period.value.0,
        Step::Rhythm { times, .. } => times.iter().map(|time| time.value.0).fold(0, gcd),
    }
}

fn drawn(time: &Drawn<Time>) -> u64 {
    match time {
        Drawn::Fixed(time) => time.0,
        Drawn::Between(least, most) => gcd(least.0, most.0),
    }
}

/// Zero counts as a multiple of everything.
fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
