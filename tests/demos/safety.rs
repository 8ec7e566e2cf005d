//! Flashing light can cause seizures in people who are sensitive to it.

use crate::demos::light::{frames, tick};
use crate::demos::support::{demos, design};

/// WCAG 2.2, success criterion 2.3.1, allows three flashes in any second. This measures each string
/// by itself: how often in a second it rises by a tenth of full light or more.
#[test]
fn no_string_flashes_more_than_three_times_in_a_second() {
    for demo in demos() {
        let design = design(&demo);
        let second = (1.0 / tick(&design)).round() as usize;
        let mut scenes: Vec<&str> = Vec::new();
        for scene in &design.deck.image.score.scenes {
            if !scenes.contains(&scene.name.as_str()) {
                scenes.push(&scene.name);
            }
        }
        for scene in scenes {
            let frames = frames(&design, scene, 300.0);
            for channel in 0..design.project.channels.len() {
                let light = frames.iter().map(|frame| frame[channel].0);
                let rises = rises(light, 0xFF00 / 10);
                let most = rises
                    .iter()
                    .enumerate()
                    .map(|(i, at)| {
                        rises[i..]
                            .iter()
                            .take_while(|rise| *rise - at < second)
                            .count()
                    })
                    .max();
                assert!(
                    most <= Some(3),
                    "{} {scene} {channel}: {most:?}",
                    demo.display()
                );
            }
        }
    }
}

/// When the light has risen by so much from the lowest since it last fell by as much.
fn rises(light: impl Iterator<Item = u16>, step: u16) -> Vec<usize> {
    let mut found = Vec::new();
    let (mut lowest, mut highest, mut rising) = (u16::MAX, 0, false);
    for (at, now) in light.enumerate() {
        lowest = lowest.min(now);
        highest = highest.max(now);
        if !rising && now - lowest >= step {
            found.push(at);
            (rising, highest) = (true, now);
        } else if rising && highest - now >= step {
            (rising, lowest) = (false, now);
        }
    }
    found
}

#[test]
fn rises_are_counted_from_the_trough() {
    let light = [0, 5, 10, 0, 4, 8, 3, 14, 20, 30, 15, 25];
    assert_eq!(rises(light.into_iter(), 10), [2, 7, 11]);
}
