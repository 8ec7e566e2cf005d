//! How much a project's programs can ask of the player in one tick.

use crate::assembly::Rounds;
use crate::drive::Drive;
use crate::firmware::{Passed, passed};
use crate::score::{Image, Line, Op, Program, Run, Score};
use crate::units::Level;

/// The most of everything.
#[derive(Debug, Clone, Copy)]
pub(super) struct Load<'a> {
    /// Whose part of a tick is looked at too. `None`: only the player's.
    pub drive: Option<&'a Drive>,
    pub channels: u32,
    /// Levels that a channel moves in a tick.
    pub levels: u32,
    /// Operations that a channel reads until one takes time.
    pub operations: u32,
}

/// What the start of a scene asks of the player, all channels together.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Start {
    /// Channels that start further on, and by how many ticks in all.
    pub channels: u64,
    pub ahead: u64,
    /// Ticks of that which may be left once whole lines are passed.
    pub ticks: u64,
    /// Levels that they move meanwhile, at most.
    pub levels: u64,
    /// How often they read on, at most.
    pub reads: u64,
    /// Operations that they read, at most.
    pub operations: u64,
}

/// What one program asks of the player.
pub(super) struct Demand {
    /// Ticks of the shortest line that takes time.
    shortest: u32,
    levels: u32,
    operations: u32,
}

impl Demand {
    fn of(program: &Program, top: Level) -> Self {
        let lines = || program.lines.iter();
        let levels = lines().map(|line| levels(line, top)).max();
        Self {
            shortest: lines().filter_map(ticks).min().unwrap_or(1),
            levels: levels.unwrap_or(1).max(1),
            operations: operations(program),
        }
    }
}

/// Program by program.
pub(super) fn demands(score: &Score) -> Vec<Demand> {
    let programs = score.programs.iter();
    programs
        .map(|program| Demand::of(program, score.top))
        .collect()
}

/// Scene by scene.
pub(super) fn starts(image: &Image, demands: &[Demand]) -> Vec<Start> {
    let slow = image.format.slow;
    let scene = |runs: &Vec<Run>| {
        let mut start = Start::default();
        for run in runs {
            let demand = &demands[run.program];
            for channel in 0..run.channels {
                let ahead = run.ahead_of(channel).0;
                let program = &image.score.programs[run.program];
                let Passed { lines, left } = passed(program, ahead).unwrap_or(Passed {
                    lines: ahead / demand.shortest,
                    left: ahead.min(program.longest_line().0),
                });
                let reads = u64::from(lines) + 1;
                // A slow line is run through in all its ticks.
                let ticks = if slow { ahead } else { left };
                start.channels += u64::from(ahead > 0);
                start.ahead += u64::from(ahead);
                start.ticks += u64::from(ticks);
                start.levels += u64::from(ticks) * u64::from(demand.levels);
                start.reads += reads;
                start.operations += reads * u64::from(demand.operations);
            }
        }
        start
    };
    image.starts.iter().map(scene).collect()
}

impl<'a> Load<'a> {
    pub(super) fn of(drive: &'a Drive, demands: &[Demand]) -> Self {
        let most = |figure: fn(&Demand) -> u32| demands.iter().map(figure).max().unwrap_or(1);
        Self {
            drive: Some(drive),
            channels: drive.channels().len() as u32,
            levels: most(|demand| demand.levels),
            operations: most(|demand| demand.operations),
        }
    }

    /// How often the player's loops are gone through in a tick, by the labels that they go back to.
    pub(super) fn rounds(&self, label: &str) -> Rounds {
        if let Some(most) = self.drive.and_then(|drive| drive.rounds(label)) {
            let group = if label == "slice" { "planes" } else { "buffer" };
            return Rounds { group, most };
        }
        match label {
            "light_channel" => Rounds {
                group: "channels",
                most: self.channels,
            },
            "step" | "move" => Rounds {
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
        Op::Slow { .. } | Op::Repeat { .. } | Op::Branch { .. } | Op::Goto { .. } => {
            return None;
        }
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
