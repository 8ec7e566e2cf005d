//! Shows and scenes: what plays, and what comes next.

use lantern::{Player, Scene};

use crate::flash::Flash;

/// All that the firmware keeps in mind.
#[repr(C)]
pub struct Light {
    player: Player<Flash>,
}

impl Light {
    pub const fn new() -> Self {
        Self {
            player: Player::idle(),
        }
    }

    /// Starts what was playing last.
    pub fn begin(&mut self) {
        self.start(Scene::CALM);
    }

    fn start(&mut self, scene: Scene) {
        scene_start(scene, &mut self.player);
    }

    /// Moves on by a tick, and hands out the duty of each channel.
    pub fn tick(&mut self, put: impl FnMut(crate::Duty)) {
        self.player.tick_into(put);
    }
}

/// Starts a scene.
#[unsafe(no_mangle)]
#[inline(never)]
extern "C" fn scene_start(scene: Scene, player: &mut Player<Flash>) {
    player.start(scene);
}
