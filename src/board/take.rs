//! Recordings of the model: what a scene plays, tick by tick.
//!
//! A scene without draws is recorded up to the end of its first loop, so that means over the loop
//! are exact. A scene with draws is recorded once for each of many seeds.

use crate::design::Design;
use crate::player::{Generator, Player};
use crate::units::Level;

/// Seeds that a scene with draws is played from.
pub const SEEDS: usize = 16;
/// How long each of them is played, in seconds.
pub const MINUTE: f64 = 60.0;
/// Loops longer than this many ticks are not waited for.
const MOST_TICKS: usize = 1 << 17;

/// What a scene plays from its start.
#[derive(Debug, Clone)]
pub struct Take {
    channels: usize,
    /// Tick by tick, channel by channel.
    levels: Vec<Level>,
    /// The tick from which on it repeats itself; its length: it was not heard out.
    pub loop_start: usize,
}

impl Take {
    /// In ticks.
    pub fn ticks(&self) -> usize {
        self.levels.len() / self.channels
    }

    /// All ticks.
    pub fn frames(&self) -> impl DoubleEndedIterator<Item = &[Level]> + ExactSizeIterator {
        self.levels.chunks_exact(self.channels)
    }

    pub fn frame(&self, tick: usize) -> &[Level] {
        &self.levels[tick * self.channels..][..self.channels]
    }

    /// The tick from which on the recording stands for all time: its loop, or everything.
    pub fn lasting_from(&self) -> usize {
        if self.loops() { self.loop_start } else { 0 }
    }

    /// Whether its loop was heard out.
    pub fn loops(&self) -> bool {
        self.loop_start < self.ticks()
    }

    /// The recorded tick that is played at a tick, going round the loop without end.
    pub fn index(&self, tick: usize) -> usize {
        let again = self.lasting_from();
        match tick.checked_sub(self.ticks()) {
            None => tick,
            Some(beyond) => again + beyond % (self.ticks() - again),
        }
    }

    /// Without end, going round the loop.
    pub fn endless(&self) -> impl Iterator<Item = &[Level]> {
        (0..).map(|tick| self.frame(self.index(tick)))
    }
}

/// How many recordings stand for a scene: one without draws, [`SEEDS`] with them.
pub fn count(design: &Design, scene: usize) -> usize {
    if design.deck.image.score.draws(scene) {
        SEEDS
    } else {
        1
    }
}

/// All of them.
pub fn takes(design: &Design, scene: usize) -> Vec<Take> {
    (0..count(design, scene))
        .map(|number| take(design, scene, number))
        .collect()
}

/// One of them.
pub fn take(design: &Design, scene: usize, number: usize) -> Take {
    if design.deck.image.score.draws(scene) {
        let ticks = (MINUTE / design.plan.tick.seconds()).ceil() as usize;
        record(started(design, scene, number as u16), design, ticks, ticks)
    } else {
        one_loop(design, scene)
    }
}

fn started(design: &Design, scene: usize, seed: u16) -> Player<'_> {
    // Far apart on the generator's cycle: an odd number that spreads seeds over all states.
    let seed = seed.wrapping_mul(40_503).wrapping_add(Generator::FIRST);
    let mut player = Player::new(&design.deck, Generator::new(seed));
    player.start(scene);
    player
}

fn record(mut player: Player, design: &Design, ticks: usize, loop_start: usize) -> Take {
    let channels = design.project.channels.len();
    let mut levels = Vec::with_capacity(ticks * channels);
    for _ in 0..ticks {
        levels.extend(player.levels());
        player.step();
        player.forget_drawn();
    }
    Take {
        channels,
        levels,
        loop_start,
    }
}

/// R. P. Brent's way to find a cycle: 'An improved Monte Carlo factorization algorithm', BIT 20, 1980.
fn one_loop(design: &Design, scene: usize) -> Take {
    let first = started(design, scene, 0);
    let Some(period) = period(first.clone()) else {
        return record(first, design, MOST_TICKS, MOST_TICKS);
    };
    let mut behind = first.clone();
    let mut ahead = first.clone();
    for _ in 0..period {
        ahead.step();
    }
    let mut start = 0;
    while behind.channels() != ahead.channels() {
        behind.step();
        ahead.step();
        start += 1;
    }
    record(first, design, start + period, start)
}

fn period(mut player: Player) -> Option<usize> {
    let mut mark = player.clone();
    let (mut power, mut steps, mut total) = (1, 0, 0);
    while total < MOST_TICKS {
        player.step();
        steps += 1;
        total += 1;
        if player.channels() == mark.channels() {
            return Some(steps);
        }
        if steps == power {
            mark = player.clone();
            power *= 2;
            steps = 0;
        }
    }
    None
}
