//! Frames as data, for a script or a table: what each channel puts out at each tick.

use serde::Serialize;

use super::window::usual;
use super::{Round, View};
use crate::design::Design;
use crate::player::{Generator, Player};
use crate::spec::PatternId;
use crate::units::{Duty, Time, rounded};

/// What was played of a project.
#[derive(Debug, Serialize)]
pub struct Recording {
    project: String,
    /// In seconds.
    tick: f64,
    /// In the order in which frames have them.
    channels: Vec<String>,
    patterns: Vec<PatternFrames>,
}

#[derive(Debug, Serialize)]
struct PatternFrames {
    name: String,
    /// Something in it is drawn by the chip: this is one course of many.
    random: bool,
    frames: Vec<Frame>,
}

/// A tick.
#[derive(Debug, Serialize)]
struct Frame {
    /// Since the pattern's start, in seconds.
    at: f64,
    /// By channel: whole steps of the brightness scale, and the share of time that its pin is on.
    levels: Vec<u8>,
    duties: Vec<f64>,
}

/// Numbers are told to a millionth.
const FINE: f64 = 1e6;

/// No more frames of a pattern: some hours of it.
const MOST: u64 = 1_000_000;

/// Plays what `view` asks for; of each pattern a round, or as much as tells what it is like, where it asks
/// for no span.
pub fn frames(design: &Design, view: &View) -> Recording {
    let channels = design.project.channels.iter();
    Recording {
        project: design.project.name.value.clone(),
        tick: rounded(design.plan.tick.seconds(), FINE),
        channels: channels.map(|channel| channel.name.value.clone()).collect(),
        patterns: view
            .played(design)
            .map(|(pattern, scene)| play(design, view, pattern, scene))
            .collect(),
    }
}

fn play(design: &Design, view: &View, pattern: PatternId, scene: usize) -> PatternFrames {
    let asked = design.project.pattern(pattern);
    let random = design.deck.image.score.draws(scene);
    let round = Round::of(asked);
    let span = view
        .span
        .map_or_else(|| usual(&round, random), Time::seconds);
    let tick = design.plan.tick.seconds();
    let ticks = |seconds: f64| (seconds / design.grid.tick_seconds()).round() as u64;
    let (first, count) = (ticks(view.start.seconds()), ticks(span).clamp(1, MOST));
    let mut player = Player::playing(&design.deck, Generator::new(view.seed), scene);
    player.advance(first);
    let frames = (first..first + count).map(|at| {
        if at > first {
            player.step();
        }
        let share = |(channel, duty): (usize, Duty)| {
            rounded(duty.on_share(design.plan.drive.whole(channel)).0, FINE)
        };
        Frame {
            at: rounded(at as f64 * tick, FINE),
            levels: player.levels().map(|level| level.0).collect(),
            duties: player.duties().enumerate().map(share).collect(),
        }
    });
    PatternFrames {
        name: asked.name.value.clone(),
        random,
        frames: frames.collect(),
    }
}

impl Recording {
    /// A line a frame, and one of headings: pattern, seconds, and each channel's share of time on. Names
    /// have no commas.
    pub fn csv(&self) -> String {
        let mut text = format!("pattern,seconds,{}\n", self.channels.join(","));
        for pattern in &self.patterns {
            for frame in &pattern.frames {
                let duties: Vec<String> = frame.duties.iter().map(f64::to_string).collect();
                text += &format!("{},{},{}\n", pattern.name, frame.at, duties.join(","));
            }
        }
        text
    }
}
