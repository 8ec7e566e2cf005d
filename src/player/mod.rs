//! The bit-exact model of the player: the same bytes, the same integer arithmetic and the same
//! generator as the firmware. What it shows at a tick is what the chip shows.

mod channel;
mod generator;
mod leaps;

use crate::light::{FULL, Packed};
use crate::score::{Image, Outcome};
use crate::units::{Duty, Level, Share};

pub use channel::Channel;
pub use generator::{Generator, STREAM};
pub use leaps::Leaps;

/// Everything about a project that the player needs.
#[derive(Debug, Clone)]
pub struct Deck {
    pub image: Image,
    pub light: Packed,
    /// What scales each channel's light.
    pub trims: Vec<Trim>,
    /// Which channels are on or off, and nothing between.
    pub plain: Vec<bool>,
}

/// A factor for a duty, in 1/256; `None`: the duty stays as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Trim(pub Option<u8>);

impl Trim {
    /// The factor nearest to a share of the light.
    pub fn new(share: Share) -> Self {
        let factor = (share.0 * 256.0).round();
        Self((factor < 256.0).then_some(factor as u8))
    }

    /// A duty, before it is cut to its depth, times the factor, rounded down.
    pub fn apply(self, raw: u16) -> u16 {
        match self.0 {
            Some(factor) => ((u32::from(raw) * u32::from(factor)) >> 8) as u16,
            None => raw,
        }
    }
}

impl Deck {
    /// What the chip puts out for a level on a channel.
    ///
    /// # Panics
    /// If the scale has no such level or the project no such channel.
    pub fn duty(&self, channel: usize, level: Level) -> Duty {
        if self.plain[channel] {
            return if level < self.half() { Duty(0) } else { FULL };
        }
        let raw = self.light.raw(level);
        self.light.depth.cut(self.trims[channel].apply(raw))
    }

    /// The level from which on a plain channel is on: that of half of the scale.
    pub fn half(&self) -> Level {
        Level(self.image.score.top.0.div_ceil(2))
    }

    /// The same for these levels on every channel, channel by channel: for who asks often.
    pub fn duties(&self, levels: impl Iterator<Item = Level> + Clone) -> Vec<Vec<Duty>> {
        let channel = |channel| {
            levels
                .clone()
                .map(|level| self.duty(channel, level))
                .collect()
        };
        (0..self.trims.len()).map(channel).collect()
    }
}

/// All channels of a project, playing a scene.
#[derive(Debug, Clone)]
pub struct Player<'a> {
    deck: &'a Deck,
    channels: Vec<Channel>,
    /// The generator that scenes and shows draw from.
    pub generator: Generator,
}

impl<'a> Player<'a> {
    /// A player in the dark, that plays scene 0.
    pub fn new(deck: &'a Deck, generator: Generator) -> Self {
        Self::playing(deck, generator, 0)
    }

    /// A player that has just started a scene, drawing from this generator.
    ///
    /// # Panics
    /// If there is no such scene.
    pub fn playing(deck: &'a Deck, generator: Generator, scene: usize) -> Self {
        let channels = vec![Channel::default(); deck.trims.len()];
        let mut player = Self {
            deck,
            channels,
            generator,
        };
        player.start(scene);
        player
    }

    /// Starts a scene: channels further on in their program are run ahead to where they belong.
    ///
    /// # Panics
    /// If there is no such scene.
    pub fn start(&mut self, scene: usize) {
        let image = &self.deck.image;
        if let Some(level) = image.score.steady.and_then(|steady| steady.of(scene)) {
            self.channels
                .iter_mut()
                .for_each(|channel| channel.stay(level));
            return;
        }
        let mut at = 0;
        for run in &image.starts[scene] {
            let mut ahead = run.ahead.0 as u16;
            for _ in 0..run.channels {
                let mut own = if image.format.streams {
                    Some(self.generator.stream(run.stream))
                } else {
                    None
                };
                let channel = &mut self.channels[at];
                let generator = own.as_mut().unwrap_or(&mut self.generator);
                channel.start(image, run, generator);
                for _ in 0..ahead {
                    channel.step(image, generator);
                }
                channel.generator = own;
                ahead = ahead.wrapping_add_signed(run.step.0 as i16);
                at += 1;
            }
        }
    }

    /// Moves on by one tick.
    pub fn step(&mut self) {
        for channel in 0..self.channels.len() {
            self.step_after(channel, 0);
        }
    }

    /// For how many ticks more no level moves and no line ends.
    pub fn still(&self) -> u32 {
        let channels = self.channels.iter();
        channels.map(Channel::still).min().unwrap_or(0)
    }

    /// Moves on by so many ticks, at once through those in which nothing moves.
    pub fn advance(&mut self, ticks: u64) {
        let mut left = ticks;
        while left > 0 {
            let passed = u64::min(self.still().into(), left - 1);
            for channel in &mut self.channels {
                channel.pass(passed as u32);
            }
            self.step();
            left -= passed + 1;
        }
    }

    /// Moves one channel on by so many ticks that it is still for, and one more.
    fn step_after(&mut self, channel: usize, ticks: u32) -> &Channel {
        let channel = &mut self.channels[channel];
        channel.pass(ticks);
        channel.drawn.clear();
        channel.step_drawing(&self.deck.image, &mut self.generator);
        channel
    }

    /// All channels, as they are now.
    pub fn channels(&self) -> &[Channel] {
        &self.channels
    }

    /// The levels shown now.
    pub fn levels(&self) -> impl Iterator<Item = Level> {
        self.channels.iter().map(|channel| channel.level)
    }

    /// The duties put out now.
    pub fn duties(&self) -> impl Iterator<Item = Duty> {
        self.levels()
            .enumerate()
            .map(|(channel, level)| self.deck.duty(channel, level))
    }

    /// What each channel drew to come to this tick: from its start, or from the tick before.
    pub fn drawn(&self) -> impl Iterator<Item = &[Outcome]> {
        self.channels.iter().map(|channel| channel.drawn.as_slice())
    }
}
