//! All channels together.

use core::marker::PhantomData;

use super::light::{self, Duty};
use super::scene::Scene;
use super::tables::*;
use super::track::{Start, Track};

/// Plays a scene on all channels, tick by tick.
#[derive(Debug, Clone)]
#[repr(C)]
pub struct Player<M: Memory = Constants> {
    tracks: [Track; CHANNELS],
    memory: PhantomData<M>,
}

impl Player {
    /// A player of a scene, with its tables in ordinary memory.
    pub fn new(scene: Scene) -> Self {
        let mut player = Self::idle();
        player.start(scene);
        player
    }
}

impl<M: Memory> Player<M> {
    /// A player that must be started before its first tick.
    pub const fn idle() -> Self {
        Self {
            tracks: [Track::IDLE; CHANNELS],
            memory: PhantomData,
        }
    }

    /// Sets every channel to its program, and runs those ahead that start further on.
    pub fn start(&mut self, scene: Scene) {
        let mut at = scene.0 * 2;
        let program = address::<M>(&mut at);
        let run = Start {
            program,
            level: byte::<M>(&mut at),
        };
        for track in &mut self.tracks {
            track.start::<M>(run);
        }
    }

    /// Moves every channel on by one tick; returns what to put out, per channel.
    pub fn tick(&mut self) -> [Duty; CHANNELS] {
        let mut frame = [Duty(0); CHANNELS];
        let mut places = frame.iter_mut();
        self.tick_into(|duty| {
            if let Some(place) = places.next() {
                *place = duty;
            }
        });
        frame
    }

    /// The same, one channel after the other.
    pub fn tick_into(&mut self, mut put: impl FnMut(Duty)) {
        for track in &mut self.tracks {
            track.step::<M>();
            let level = track.level;
            put(light::duty(level));
        }
    }
}

/// The byte of the table of starts at a place, which moves on.
fn byte<M: Memory>(at: &mut Place) -> u8 {
    let byte = M::start(*at);
    *at = at.wrapping_add(1);
    byte
}

/// Where a program starts.
fn address<M: Memory>(at: &mut Place) -> Address {
    byte::<M>(at)
}
