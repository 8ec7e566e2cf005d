//! A leap comes to the same as the steps it stands for, and shows one light through all of them.

use duskloom::player::{Generator, Leaps, Player};
use proptest::prelude::*;

use crate::score::projects::recipe;
use crate::score::rig::Rig;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn leaps_are_steps(recipe in recipe(), seed in any::<u16>()) {
        let Ok(rig) = Rig::new(&recipe.project()) else { return Ok(()) };
        let mut stepping = Player::playing(&rig.deck, Generator::new(seed), 0);
        let mut leaping = Leaps::new(stepping.clone());
        let mut ticks = 0;
        while ticks < 3000 {
            let shown: Vec<_> = leaping.levels().collect();
            for _ in 0..leaping.leap() {
                prop_assert!(stepping.levels().eq(shown.iter().copied()), "tick {}", ticks);
                stepping.step();
                ticks += 1;
            }
            let stepped = Leaps::new(stepping.clone());
            prop_assert!(leaping.is_where(&stepped), "tick {}", ticks);
        }
    }
}
