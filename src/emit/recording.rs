//! Frames of the model, for generated tests to compare with.

use serde::Serialize;

use crate::design::Design;
use crate::player::{Generator, Player};
use crate::units::Duty;

/// What every scene puts out at some of its ticks.
#[derive(Debug, Serialize)]
pub(super) struct Recording {
    /// The state from which the generator starts each scene.
    pub seed: u16,
    pub scenes: Vec<Vec<Frame>>,
}

#[derive(Debug, Serialize)]
pub(super) struct Frame {
    /// Counted from 1.
    pub tick: u32,
    /// Per channel, in 1/256 of a timer count.
    pub duties: Vec<u16>,
    /// Over all duties up to this tick, low bytes first: 32-bit FNV-1a.
    pub check: u32,
}

const SEED: u16 = 0x2A17;

/// Early ticks one by one, later ones apart; the check covers what lies between.
const TICKS: [u32; 8] = [1, 2, 10, 50, 200, 600, 1500, 4000];

/// FNV-1a's offset basis and prime (G. Fowler, L. C. Noll, K.-P. Vo, D. Eastlake,
/// draft-eastlake-fnv).
const BASIS: u32 = 0x811C_9DC5;
const PRIME: u32 = 0x0100_0193;

impl Recording {
    pub(super) fn new(design: &Design) -> Self {
        let scenes = 0..design.deck.image.starts.len();
        let duties = design.deck.duties(design.scale.levels());
        Self {
            seed: SEED,
            scenes: scenes.map(|scene| frames(design, &duties, scene)).collect(),
        }
    }
}

/// `duties`: by channel and level.
fn frames(design: &Design, duties: &[Vec<Duty>], scene: usize) -> Vec<Frame> {
    let mut player = Player::playing(&design.deck, Generator::new(SEED), scene);
    let mut frames = Vec::new();
    let mut check = BASIS;
    for tick in 1..=TICKS[TICKS.len() - 1] {
        player.step();
        let shown = || {
            let channels = duties.iter().zip(player.levels());
            channels.map(|(duties, level)| duties[usize::from(level.0)].0)
        };
        for byte in shown().flat_map(u16::to_le_bytes) {
            check = (check ^ u32::from(byte)).wrapping_mul(PRIME);
        }
        if TICKS.contains(&tick) {
            frames.push(Frame {
                tick,
                duties: shown().collect(),
                check,
            });
        }
    }
    frames
}
