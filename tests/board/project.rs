//! Whole projects and their boards.

use std::path::Path;

use duskloom::board;
use duskloom::design::Design;
use duskloom::player::{Generator, Player};

use crate::common::designs;

pub(crate) fn design(name: &str) -> Design {
    designs::from_file(Path::new("tests/board/projects").join(name))
}

pub(crate) fn made_of(text: &str) -> Design {
    designs::from_text("light.yaml", text)
}

#[test]
fn reports_read_well() {
    for name in ["harbour", "bare", "strobe", "coarse"] {
        let board = board::report(&design(&format!("{name}.yaml")));
        insta::assert_snapshot!(name, board.text());
    }
}

#[test]
fn a_report_is_plain_data_and_always_the_same() {
    let design = design("harbour.yaml");
    let json = || serde_json::to_string(&board::report(&design)).expect("plain data");
    assert_eq!(json(), json());
}

/// A project that says nothing of its board has no electric figures, and all else.
#[test]
fn without_electrics_there_are_none() {
    let board = board::report(&design("bare.yaml"));
    assert!(board.supply.is_none() && board.pump.is_none() && board.pins.is_none());
    assert!(board.shows.is_empty());
    assert!(board.scenes.iter().all(|scene| scene.currents.is_none()));
    let names: Vec<&str> = board.rows.iter().map(|row| row.name).collect();
    assert_eq!(names, ["modulation", "flashes", "clock"]);
}

/// The integral over the player's duties, taken anew: whole loops, in whole numbers.
#[test]
fn mean_currents_are_the_integral_of_the_duties() {
    let design = design("harbour.yaml");
    let board = board::report(&design);
    let beacon = board
        .scenes
        .iter()
        .position(|scene| scene.name == "beacon")
        .expect("it is there");
    let period = board.scenes[beacon].period.expect("it has no draws").0;
    let ticks = (period / design.plan.tick.seconds()).round() as u64;
    let mut player = Player::new(&design.deck, Generator::new(1));
    player.start(beacon);
    let mut sums = [0_u64; 4];
    for _ in 0..3 * ticks {
        for (sum, duty) in sums.iter_mut().zip(player.duties()) {
            *sum += u64::from(duty.0);
        }
        player.step();
    }
    let scene = &board.scenes[beacon];
    let currents = scene.currents.as_ref().expect("strings are given");
    for (channel, sum) in sums.iter().enumerate() {
        let share =
            *sum as f64 / (3 * ticks) as f64 / 256.0 / f64::from(design.plan.drive.pwm().whole);
        assert!((scene.on[channel].0 - share).abs() < 1e-12);
    }
    // `boats` hangs on the supply, whose voltage does not depend on the load: its mean current is
    // that while lit, times the share.
    let boats = board.circuit.strings[2].expect("it has a string").string;
    let mean = 2.0 * boats.current.0 * scene.on[2].0;
    assert!((currents.mean.strings[2].0 - mean).abs() < 1e-12);
}

#[test]
fn random_scenes_are_an_expectation_with_a_spread() {
    let board = board::report(&design("harbour.yaml"));
    let twinkle = board
        .scenes
        .iter()
        .find(|scene| scene.name == "twinkle")
        .expect("there");
    let currents = twinkle.currents.as_ref().expect("strings are given");
    let [least, most] = currents.spread;
    assert!(twinkle.random && twinkle.period.is_none());
    assert!(least < currents.total && currents.total < most);
    assert!(most.0 / least.0 < 1.5);
}

/// Nothing a string can do makes more light, or draws more, than all of them lit.
#[test]
fn peaks_are_above_means() {
    let board = board::report(&design("harbour.yaml"));
    for scene in &board.scenes {
        let currents = scene.currents.as_ref().expect("strings are given");
        assert!(
            currents.peak.0 >= currents.total.0 * 0.999,
            "{}",
            scene.name
        );
    }
    let supply = board.supply.expect("it is given");
    assert!(supply.dark < supply.mean && supply.mean <= supply.peak);
}
