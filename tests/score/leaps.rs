//! A leap of the player comes to the same as the steps it stands for, and shows one light through
//! all of them.

use duskloom::player::{Generator, Player};
use proptest::prelude::*;

use crate::projects::recipe;
use crate::rig::Rig;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn leaps_are_steps(recipe in recipe(), seed in any::<u16>()) {
        let Ok(rig) = Rig::new(&recipe.project()) else { return Ok(()) };
        let mut stepping = Player::playing(&rig.deck, Generator::new(seed), 0);
        let mut leaping = stepping.clone();
        let mut ticks = 0;
        while ticks < 3000 {
            let shown: Vec<_> = leaping.levels().collect();
            let leap = leaping.leap();
            for _ in 0..leap {
                prop_assert!(stepping.levels().eq(shown.iter().copied()), "tick {}", ticks);
                stepping.step();
                ticks += 1;
            }
            prop_assert_eq!(stepping.channels(), leaping.channels(), "tick {}", ticks);
            prop_assert_eq!(stepping.generator, leaping.generator);
        }
    }
}
