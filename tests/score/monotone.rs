//! A fade goes one way and ends where it was asked to end, whatever its course, depth and length.

use duskloom::units::Level;
use proptest::prelude::*;

use crate::score::rig::{Rig, read};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn a_fade_never_turns_back_and_ends_where_it_should(
        (from, to) in (0_u32..=1000, 0_u32..=1000),
        ease in prop::sample::select(vec!["linear", "soft", "soft-in", "soft-out"]),
        levels in 2_u32..=256,
        time in prop_oneof![20_u32..2_000, 2_000_u32..60_000, 60_000_u32..20_000_000],
    ) {
        let percent = |tenths: u32| f64::from(tenths) / 10.0;
        let (low, high) = (percent(from), percent(to));
        let project = read(&format!(
            "chip: attiny2313a\nchannels: [quay]\nbrightness: {{levels: {levels}}}\npatterns:\n  dawn:\n    \
             - {{set: {low} %}}\n    - {{hold: 100 ms}}\n    - {{to: {high} %, over: {time} ms, ease: {ease}}}\n    \
             - {{hold: 100 ms}}\n",
        ));
        let Ok(rig) = Rig::new(&project) else { return Ok(()) };
        let ticks = (f64::from(time + 150) * 1e6 / rig.tick) as u32;
        let take = rig.play(0, 1, ticks);
        // What is asked to be lit is at least the lowest lit level.
        let least = |share: f64| if share > 0.0 { 1.0 } else { 0.0 };
        let near = |share: f64| {
            let level = (share / 100.0 * f64::from(levels - 1)).round();
            Level(level.max(least(share)) as u8)
        };
        let first = (50.0 * 1e6 / rig.tick) as usize;
        let mut shown = take.levels[0][first..].to_vec();
        prop_assert_eq!(shown.first(), Some(&near(low)));
        prop_assert_eq!(shown.last(), Some(&near(high)));
        if from > to {
            shown.reverse();
        }
        prop_assert!(shown.is_sorted());
    }
}
