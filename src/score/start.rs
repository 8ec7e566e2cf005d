//! The table that starts scenes: runs of neighbouring channels that play one program, each channel
//! of a run evenly ahead of the one before it.

use crate::score::format::{Format, StartFormat};
use crate::score::program::{Role, Scene, Score};
use crate::units::{Level, TickShift, Ticks};

/// Neighbouring channels that play one program.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// Number of channels.
    pub channels: u8,
    /// Index into [`Score::programs`].
    pub program: usize,
    /// Head start of its first channel.
    pub ahead: Ticks,
    /// What each further channel is ahead of the one before it; below 0: behind.
    pub step: TickShift,
    pub initial: Level,
    /// The stream of draws of its first channel.
    pub stream: u8,
    /// What rounding left over, in 1/256 of a tick.
    pub remainder: i16,
}

/// No channel is run ahead by whole rounds, for the sake of even steps, beyond so many ticks. They
/// take some 100 cycles each, so that four channels do not pause for long (common practice, no
/// source).
const MOST_AHEAD: u32 = 4096;

impl Run {
    /// The head start of one of its channels, counted from its first.
    pub fn ahead_of(&self, channel: u8) -> Ticks {
        let shift = self.step.0 * i32::from(channel);
        Ticks(self.ahead.0.saturating_add_signed(shift))
    }
}

/// The runs of each scene; none where the player works out a steady level.
pub(super) fn runs(score: &Score, format: &Format) -> Vec<Vec<Run>> {
    score
        .scenes
        .iter()
        .map(|scene| scene_runs(scene, score, format))
        .collect()
}

/// The form with the narrowest start records that hold these runs.
pub(super) fn fit(format: Format, runs: &[Vec<Run>]) -> Format {
    let all = || runs.iter().flatten();
    // The player adds in 16 bits, so that a long step can also lead back.
    let width = |ticks: i32| match ticks {
        0 => 0,
        1..=0xFF => 1,
        _ => 2,
    };
    let widest = |ticks: fn(&Run) -> i32| all().map(ticks).map(width).max().unwrap_or(0);
    let start = StartFormat {
        uniform: runs.iter().all(|scene| scene.len() <= 1),
        ahead: widest(|run| run.ahead.0 as i32),
        step: widest(|run| run.step.0),
        initial: all().any(|run| run.initial.0 > 0),
        remainder: all().any(|run| run.remainder != 0),
    };
    Format { start, ..format }
}

fn scene_runs(scene: &Scene, score: &Score, format: &Format) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for (channel, part) in scene.parts.iter().enumerate() {
        let grown = channel > 0
            && runs.last_mut().is_some_and(|run| {
                let before = &scene.parts[channel - 1];
                let period = period(score, part.program);
                join(run, before, part, period, format)
            });
        if !grown {
            runs.push(Run {
                channels: 1,
                program: part.program,
                ahead: part.ahead,
                step: TickShift(0),
                initial: part.initial,
                stream: part.stream,
                remainder: part.remainder,
            });
        }
    }
    runs
}

/// Lets `part` join the run whose last channel is `before`, if the run can say it.
fn join(run: &mut Run, before: &Role, part: &Role, period: Option<u32>, format: &Format) -> bool {
    let same = run.program == part.program
        && run.initial == part.initial
        && run.remainder == 0
        && part.remainder == 0
        && (!format.streams || before.stream == part.stream);
    if !same {
        return false;
    }
    let onward = match (part.ahead.0.checked_sub(before.ahead.0), period) {
        (Some(gap), _) => Some(gap),
        // A whole round more is the same place.
        (None, Some(period)) => Some(part.ahead.0 + period - before.ahead.0),
        (None, None) => None,
    };
    let last = run.ahead_of(run.channels - 1).0;
    let place = onward
        .map(|gap| last + gap)
        .filter(|place| *place <= part.ahead.0.max(MOST_AHEAD))
        .unwrap_or(part.ahead.0);
    // The player adds up in 16 bits.
    if place.max(last) > 0xFFFF {
        return false;
    }
    let step = TickShift(place as i32 - last as i32);
    let even = run.channels == 1 || step == run.step;
    if even {
        run.step = step;
        run.channels += 1;
    }
    even
}

/// The ticks of one round of a program that is nothing but a loop without draws.
fn period(score: &Score, program: usize) -> Option<u32> {
    use crate::score::program::Op;
    let lines = &score.programs[program].lines;
    let (last, body) = lines.split_last()?;
    if !matches!(&last.op, Op::Goto { to } if to.0 == 0) {
        return None;
    }
    body.iter().try_fold(0, |sum, line| match line.op {
        Op::Fade { length, .. } | Op::Jump { length, .. } if length.fraction == 0 => {
            Some(sum + length.ticks.0)
        }
        _ => None,
    })
}
