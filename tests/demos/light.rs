//! What a lamp does, measured on the bit-exact model of the firmware.

use duskloom::design::Design;
use duskloom::player::{Generator, Player};
use duskloom::units::Duty;

/// A time during which a lamp's light stays the same.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spell {
    pub duty: Duty,
    pub seconds: f64,
}

impl Spell {
    pub(super) fn is_lit(self) -> bool {
        self.duty > Duty(0)
    }
}

/// What every channel puts out, tick by tick, from the start of a scene.
pub(super) fn frames(design: &Design, scene: &str, seconds: f64) -> Vec<Vec<Duty>> {
    let scenes = &design.deck.image.score.scenes;
    let scene = scenes
        .iter()
        .position(|known| known.name == scene)
        .unwrap_or_else(|| panic!("no scene {scene}"));
    let mut player = Player::new(&design.deck, Generator::new(1));
    player.start(scene);
    let ticks = (seconds / tick(design)).round() as usize;
    (0..ticks)
        .map(|_| {
            let frame = player.duties().collect();
            player.step();
            frame
        })
        .collect()
}

/// One channel's light as spells. The last one, which the end of the measurement cuts, is left out.
pub(super) fn spells(design: &Design, scene: &str, channel: &str, seconds: f64) -> Vec<Spell> {
    let channels = &design.project.channels;
    let channel = channels
        .iter()
        .position(|known| known.name.value == channel)
        .unwrap_or_else(|| panic!("no channel {channel}"));
    let mut spells: Vec<Spell> = Vec::new();
    for frame in frames(design, scene, seconds) {
        match spells.last_mut() {
            Some(spell) if spell.duty == frame[channel] => spell.seconds += tick(design),
            Some(_) | None => spells.push(Spell {
                duty: frame[channel],
                seconds: tick(design),
            }),
        }
    }
    if spells.len() > 1 {
        spells.pop();
    }
    spells
}

/// Seconds.
pub(super) fn tick(design: &Design) -> f64 {
    design.plan.tick.ideal_seconds()
}
