//! The player against frames recorded from duskloom's model of it.

use lantern::{Duty, Player, Scene};

/// A tick of a scene, the duties then, and a checksum (32-bit FNV-1a) of all duties up to then.
type Frame = (u32, [u16; 1], u32);

fn check(scene: Scene, frames: &[Frame]) {
    let mut player = Player::new(scene);
    let mut sum: u32 = 0x811C_9DC5;
    let mut tick = 0;
    for (at, duties, expected) in frames {
        let mut frame = [Duty(0); 1];
        while tick < *at {
            frame = player.tick();
            tick += 1;
            for byte in frame.iter().flat_map(|duty| duty.0.to_le_bytes()) {
                sum = (sum ^ u32::from(byte)).wrapping_mul(0x0100_0193);
            }
        }
        assert_eq!(frame.map(|duty| duty.0), *duties, "{scene:?}, tick {at}");
        assert_eq!(sum, *expected, "{scene:?}, up to tick {at}");
    }
}

/// calm
#[test]
fn plays_calm() {
    #[rustfmt::skip]
    let frames = [
        (1, [5488], 0xBC4F028E),
        (2, [5488], 0x92D134DD),
        (10, [5600], 0x3E5802CD),
        (50, [5856], 0xB6775924),
        (200, [9376], 0xA6DCD629),
        (600, [48688], 0xEA090742),
        (1500, [17728], 0x48789276),
        (4000, [5488], 0x8F46EA95),
    ];
    check(Scene::CALM, &frames);
}
