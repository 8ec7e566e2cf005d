//! The light of the model is the light that is meant, and dark is dark.

use duskloom::design::Design;
use duskloom::light::cie;
use duskloom::player::Deck;
use duskloom::spec::ChannelId;
use duskloom::units::{Duty, Level};
use proptest::prelude::*;

use crate::common::designs;
use crate::score::follows::Meant;
use crate::score::projects::recipe;
use crate::score::rig::Rig;

/// How far the light may be from what is meant, in L*.
const LIGHT: f64 = 1.0;

fn design(text: &str) -> Design {
    designs::from_text("here/lights.yaml", text)
}

/// The default light of a chip.
fn light_of(chip: &str) -> Deck {
    design(&format!(
        "chip: {chip}\nchannels: [lamp]\npatterns:\n  on: [{{hold: 1 s}}]\n"
    ))
    .deck
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 96, max_global_rejects: 1_000_000, ..ProptestConfig::default() })]

    /// With the default brightness: the lightness curve, 256 levels, no trim.
    #[test]
    fn light_is_what_is_meant(recipe in recipe(), seed in any::<u16>()) {
        let mut project = recipe.project();
        project.brightness.levels.value = 256;
        let rig = Rig::new(&project);
        prop_assume!(rig.is_ok());
        let rig = rig.unwrap();
        let light = light_of(&project.chip.value).light;
        let take = rig.play(0, seed, 1500);
        for channel in 0..rig.deck.trims.len() {
            let id = ChannelId(channel as u8);
            let meant = Meant::new(&rig, &take, channel);
            let mut hint = 0;
            for (i, level) in take.levels[channel].iter().enumerate() {
                let (low, high) = meant.between(i as u32 + 1, &mut hint);
                let [low, high] = [low, high].map(|share| rig.intent.lightness(id, share).0);
                let shown = cie::lightness(light.duty(*level).luminance()).0;
                let off = (low - shown).max(shown - high);
                prop_assert!(off <= LIGHT, "{off} L* off at tick {}", i + 1);
            }
        }
    }
}

fn brightness() -> impl Strategy<Value = String> {
    let curve = prop_oneof![
        Just("lightness".to_string()),
        Just("logarithmic".to_string()),
        Just("square".to_string()),
        Just("linear".to_string()),
        (10_u32..35).prop_map(|tenths| format!("{{power: {}}}", f64::from(tenths) / 10.0)),
    ];
    (curve, 2_u32..=256, 0_u32..30, 40_u32..=100).prop_map(|(curve, levels, floor, ceiling)| {
        format!("{{curve: {curve}, levels: {levels}, floor: {floor} %, ceiling: {ceiling} %}}")
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn level_0_is_dark_and_no_level_is_darker_than_the_one_below(
        brightness in brightness(),
        trim in 5_u32..=100,
        chip in prop_oneof![Just("attiny13a"), Just("attiny2313a"), Just("atmega88")],
    ) {
        let design = design(&format!(
            "chip: {chip}\nchannels: {{lamp: {{trim: {trim} %}}}}\nbrightness: {brightness}\n\
             patterns:\n  on: [{{set: 0 %, hold: 1 s}}]\n"
        ));
        prop_assert_eq!(design.deck.duty(0, Level(0)), Duty(0));
        let duties: Vec<_> = design.scale.levels().map(|level| design.deck.duty(0, level)).collect();
        prop_assert!(duties.is_sorted());
    }
}
