//! The intent: what a project asks for, in real numbers, straight from its steps.
//!
//! This is a second opinion on the programs that the player plays. It shares no code with the
//! lowering: times are real nanoseconds, levels real shares, eases and waves are written down anew.
//! What it means is decided here:
//!
//! - **For ever.** A track's steps are played again when they end. A list whose only step never
//!   ends (`repeat: forever`, a wave without `cycles`) is that step's own loop.
//! - **The first round** is like the later ones: before a track's first step the light is where its
//!   last step leaves it. Where that is only drawn on the chip, where no step sets it, and where the
//!   last step never ends, so that nothing comes round, it is dark.
//! - **Steady.** A track that comes round again and makes no draws on the chip is as if it had been
//!   running for ever: `stagger`, `ahead` and a wave's `spread` shift its channels along the loop.
//! - **One after the other.** Where a track draws on the chip, or its last step never ends,
//!   staggered channels first wait for their turn. `ahead` skips the beginning, the wait included.
//! - **Waiting.** A channel that a step does not name keeps its level for as long as the step
//!   takes: also one that was not picked.
//! - **Waves** begin at phase 0 less the channel's lag, with a jump if the level is another there.
//!   One that ends leaves the level that it came to; the drop of a saw belongs to the next period.
//! - **Drawn at compile time.** A track with `draw` is what [`resolve`] makes of it.
//! - **Drawn on the chip.** The draws are no part of the intent: it is told what was drawn, in the
//!   player's whole ticks and levels, and ends where the draws end.
//! - **Light.** A share of the scale has the lightness [`Scale::ideal`] gives; a trim scales the
//!   luminance of that. A plain channel is all there from half of the scale up, and else dark.
//!
//! # How near the model comes
//! With `top` the highest level, |model − intent · top| is at most [`LEVELS`] at every tick, where
//! the intent is whatever comes nearest among the values it takes within [`SLACK`] before and after
//! that tick ([`CURVED_SLACK`] in eases and waves, where times are not whole ticks): that covers
//! jumps, and fades so steep that half a tick makes a difference. With the
//! default brightness (256 levels, no trim) the light is within 1.0 L* of the intent's likewise.
//!
//! [`resolve`]: crate::score::resolve

mod stretch;
mod walk;

use crate::light::{Scale, cie};
use crate::score::Outcome;
use crate::score::draw::{self, Resolved};
use crate::spec::{Channel, ChannelId, PatternId, Project};
use crate::units::{Lightness, Luminance, Share};

pub use stretch::{Path, Stretch};
pub use walk::Stretches;

/// How far the model may be from the intent, in levels. Half a level is the rounding of a straight
/// line to whole levels. Its ends are whole levels too: half a level more, where the levels that
/// were asked for lie between two. A curved course made of straight pieces is 0.7 levels off
/// instead, and a line too long for one operation 0.05 more where it is cut.
pub const LEVELS: f64 = 1.25;

/// How far a boundary may be from its ideal time, in ticks: half a tick, and what the start of a
/// staggered channel is rounded to (1/512 of a tick; nothing where all times are whole ticks).
/// Where they are not, every round of a loop adds at most [`DRIFT`].
pub const SLACK: f64 = 0.5 + 1.0 / 256.0;

/// As [`SLACK`], for the course of an ease or a wave where times are not whole ticks: its pieces
/// are whole ticks long, and the last one, which takes the rest, straightens up to two of them.
pub const CURVED_SLACK: f64 = 1.0;

/// How far a loop that is not a whole number of ticks may drift in a round, in ticks: the fraction
/// of a length has 16 bits.
pub const DRIFT: f64 = 1.0 / 65536.0;

/// Real time in nanoseconds since a pattern started.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Moment(pub f64);

impl Moment {
    /// The time in seconds.
    pub fn seconds(self) -> f64 {
        self.0 / 1e9
    }

    /// This much later, in nanoseconds.
    fn later(self, time: f64) -> Self {
        Self(self.0 + time)
    }
}

/// What all patterns of a project ask for.
#[derive(Debug, Clone)]
pub struct Intent {
    /// By pattern.
    patterns: Vec<Vec<Resolved>>,
    /// By channel.
    trims: Vec<Share>,
    plain: Vec<bool>,
    scale: Scale,
    /// The length of a tick, in nanoseconds: for lengths that were drawn on the chip.
    tick: f64,
}

impl Intent {
    /// The intent of a project whose ticks have this length in seconds.
    pub fn new(project: &Project, tick_seconds: f64) -> Self {
        let tracks = |pattern: &crate::spec::Pattern| {
            let tracks = pattern.tracks.iter();
            tracks.flat_map(draw::resolve).collect()
        };
        Self {
            patterns: project.patterns.iter().map(tracks).collect(),
            trims: project.channels.iter().map(|c| c.trim.value).collect(),
            plain: project.channels.iter().map(Channel::is_plain).collect(),
            scale: Scale::new(&project.brightness),
            tick: tick_seconds * 1e9,
        }
    }

    /// What `channel` does in a pattern from its start, stretch by stretch, for ever, or as far as
    /// the draws reach: `drawn` is what the channel's player drew since the pattern was started.
    ///
    /// # Panics
    /// If there is no such pattern, or the draws are not those of this channel.
    pub fn course<'a>(
        &'a self,
        pattern: PatternId,
        channel: ChannelId,
        drawn: &'a [Outcome],
    ) -> Stretches<'a> {
        let tracks = &self.patterns[usize::from(pattern.0)];
        let track = tracks.iter().find(|track| track.plays.contains(&channel));
        match track {
            Some(Resolved { track, .. }) => {
                Stretches::new(track, channel, self.scale.top(), self.tick, drawn)
            }
            None => Stretches::dark(),
        }
    }

    /// The lightness that a share of the scale means on a channel.
    ///
    /// # Panics
    /// If there is no such channel.
    pub fn lightness(&self, channel: ChannelId, share: Share) -> Lightness {
        if self.plain[usize::from(channel.0)] {
            let on = share.0 >= 0.5;
            return Lightness(if on { 100.0 } else { 0.0 });
        }
        let full = cie::luminance(self.scale.ideal(share));
        let trim = self.trims[usize::from(channel.0)].0;
        cie::lightness(Luminance(full.0 * trim))
    }
}
