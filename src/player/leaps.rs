//! A player that goes from change to change: stretches in which nothing moves take it no time.

use super::{Channel, Player};
use crate::units::Level;

/// A player of one scene, whose channels are each left alone until there is something to do.
#[derive(Debug, Clone)]
pub struct Leaps<'a> {
    player: Player<'a>,
    /// By channel.
    waits: Vec<Wait>,
}

/// How long a channel is left alone.
#[derive(Debug, Clone, Copy)]
struct Wait {
    /// Ticks until its level may move, or it reads on.
    left: u32,
    /// Ticks that it has not been told of.
    passed: u32,
}

impl Wait {
    fn of(channel: &Channel) -> Self {
        Self {
            left: channel.still() + 1,
            passed: 0,
        }
    }
}

impl<'a> Leaps<'a> {
    /// Goes on where a player is.
    pub fn new(player: Player<'a>) -> Self {
        let waits = player.channels().iter().map(Wait::of).collect();
        Self { player, waits }
    }

    /// The levels shown now.
    pub fn levels(&self) -> impl Iterator<Item = Level> {
        self.player.levels()
    }

    /// Moves on to where a level may next move; gives how many ticks that took. It comes to the
    /// same as so many steps.
    pub fn leap(&mut self) -> usize {
        let ticks = self.waits.iter().map(|wait| wait.left).min().unwrap_or(1);
        for (channel, wait) in self.waits.iter_mut().enumerate() {
            wait.left -= ticks;
            wait.passed += ticks;
            if wait.left == 0 {
                *wait = Wait::of(self.player.step_after(channel, wait.passed - 1));
            }
        }
        ticks as usize
    }

    /// Whether both go on alike from here, if nothing is drawn.
    pub fn is_where(&self, other: &Self) -> bool {
        let here = self.player.channels().iter().zip(&self.waits);
        let there = other.player.channels().iter().zip(&other.waits);
        here.zip(there)
            .all(|((a, ours), (b, theirs))| a.is_after(ours.passed, b, theirs.passed))
    }
}
