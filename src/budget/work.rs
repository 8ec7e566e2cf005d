//! How much a project's programs can ask of the player in one tick.

use super::assembly::Rounds;
use crate::design::Design;
use crate::score::{Line, Op, Program, Run};
use crate::units::Level;

/// The most of everything.
#[derive(Debug, Clone, Copy)]
pub struct Load {
    channels: u32,
    /// Levels that a channel moves in a tick.
    pub levels: u32,
    /// Operations that a channel reads until one takes time.
    operations: u32,
    /// Ticks of the shortest line that takes time.
    pub shortest: u32,
    /// Ticks by which the channels of a scene run ahead at its start, in all, and the scene.
    pub furthest_ahead: Option<(u32, usize)>,
}

impl Load {
    pub fn of(design: &Design) -> Self {
        let image = &design.deck.image;
        let programs = || image.score.programs.iter();
        let top = image.score.top;
        let lines = || programs().flat_map(|program| &program.lines);
        let ahead = image
            .starts
            .iter()
            .map(|runs| runs.iter().map(ahead).sum::<u32>());
        Self {
            channels: design.plan.channels.len() as u32,
            levels: lines()
                .map(|line| levels(line, top))
                .max()
                .unwrap_or(1)
                .max(1),
            operations: programs().map(operations).max().unwrap_or(1),
            shortest: lines().filter_map(ticks).min().unwrap_or(1),
            furthest_ahead: ahead.zip(0..).max_by_key(|(ticks, _)| *ticks),
        }
    }

    pub fn most_ahead(&self) -> u32 {
        self.furthest_ahead.map_or(0, |(ticks, _)| ticks)
    }

    /// How often the player's loops are gone through in a tick, by the labels that they go back to.
    pub fn rounds(&self, label: &str) -> Rounds {
        match label {
            "light_channel" => Rounds {
                group: "channels",
                most: self.channels,
            },
            "step" => Rounds {
                group: "levels",
                most: self.levels,
            },
            // A bit at a time.
            "share" => Rounds {
                group: "bits",
                most: 8,
            },
            _ => Rounds {
                group: "operations",
                most: self.operations,
            },
        }
    }
}

/// Ticks by which the channels of a run start further on, in all.
fn ahead(run: &Run) -> u32 {
    let channels = u32::from(run.channels);
    run.ahead.0 * channels + run.step.0 * (channels * (channels - 1) / 2)
}

/// How many levels a line moves at once, at most.
fn levels(line: &Line, top: Level) -> u32 {
    let furthest = |to: Level| u32::from(to.0.max(top.0 - to.0.min(top.0)));
    let (distance, ticks) = match &line.op {
        Op::Fade { length, to } => {
            let known = line.from.map(|from| u32::from(from.0.abs_diff(to.0)));
            (known.unwrap_or_else(|| furthest(*to)), length.ticks.0)
        }
        Op::Random {
            jump: false, ticks, ..
        } => (u32::from(top.0), ticks.low.0),
        _ => return 0,
    };
    distance.div_ceil(ticks.max(1))
}

/// The ticks that a line takes at least. `None`: it may take none.
fn ticks(line: &Line) -> Option<u32> {
    let ticks = match &line.op {
        Op::Fade { length, .. } | Op::Jump { length, .. } | Op::Wait { length } => length.ticks,
        Op::Random { ticks, .. } | Op::Keep { ticks } => ticks.low,
        Op::Repeat { .. } | Op::Branch { .. } | Op::Goto { .. } => return None,
    };
    (ticks.0 > 0).then_some(ticks.0)
}

/// How many operations are read at most until one takes time. Jumps back are followed once.
fn operations(program: &Program) -> u32 {
    let lines = &program.lines;
    let mut chain = vec![1_u32; lines.len() + 1];
    for _ in 0..2 {
        for (i, line) in lines.iter().enumerate().rev() {
            let after = match &line.op {
                _ if ticks(line).is_some() => 0,
                Op::Repeat { to, .. } => chain[i + 1].max(chain[to.0]),
                Op::Branch { to } => to.iter().map(|to| chain[to.0]).max().unwrap_or(0),
                Op::Goto { to } => chain[to.0],
                _ => chain[i + 1],
            };
            chain[i] = after.saturating_add(1);
        }
    }
    chain.into_iter().max().unwrap_or(1)
}
