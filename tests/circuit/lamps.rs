//! The light at the LED of whole projects, and what is proposed against its errors.

use duskloom::board::{Lamp, lamps};
use duskloom::circuit;

use crate::board::project::made_of;

/// The harbour's quay: four LEDs of 8 mA at 31.25 kHz, with a transistor of this kind.
fn quay(switch: &str) -> Lamp {
    let design = made_of(&format!(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: [quay]\n\
         brightness: {{levels: 128, floor: 4 %, ceiling: 92 %}}\n\
         patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n\
         strings: {{quay: {{parallel: 4, forward: 3.0 V, current: 8 mA, {switch}}}}}\n"
    ));
    let (_, faults) = circuit::check(&design.project, &design.plan);
    assert!(faults.is_empty(), "{faults:?}");
    lamps(&design).remove(0)
}

/// The README's figures.
#[test]
fn a_capacitor_mends_the_harbour_s_quay() {
    let (before, after) = (
        quay("transistor: 2n3904"),
        quay("transistor: 2n3904, drive: speed-up"),
    );
    assert_eq!(format!("{:.1}", before.typical.error), "5.5");
    assert!(after.typical.error.abs() < 0.3, "{:?}", after.typical);
    assert!(after.over_storage.iter().all(|off| off.error.abs() < 2.0));
    assert_eq!(after.not_rising, 0);
}

/// What a remedy promises is what the project then has; and it exists for every NPN.
#[test]
fn a_remedy_does_what_it_says() {
    for part in ["2n3904", "2n2222", "2n4401", "bc547", "bc337"] {
        let before = quay(&format!("transistor: {part}"));
        let remedy = before.remedy.expect(part);
        assert!(before.typical.error.abs() > 1.0 && remedy.off.error.abs() <= 1.0);
        let change = remedy.change.trim_matches('`');
        let written = if change.starts_with("switch") {
            change.to_string()
        } else {
            format!("transistor: {part}, {change}")
        };
        let after = quay(&written);
        assert!(
            (after.typical.error - remedy.off.error).abs() < 0.15,
            "{part}: {remedy:?}, {:?}",
            after.typical
        );
        assert!(after.remedy.is_none());
    }
}

/// Whatever keeps a small NPN from saturating, or takes the charge out of it, comes near the light that was
/// wanted, with half of its storage time and with one and a half: a sink the nearest.
#[test]
fn every_cure_mends_a_single_string() {
    let tower = |drive: &str| {
        let design = made_of(&format!(
            "chip: attiny2313a\nclock: 8 MHz internal\nchannels: [tower]\n\
             brightness: {{levels: 64}}\n\
             patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n\
             strings: {{tower: {{forward: 3.2 V, current: 10 mA, transistor: 2n3904, {drive}}}}}\n"
        ));
        let (_, faults) = circuit::check(&design.project, &design.plan);
        assert!(faults.is_empty(), "{faults:?}");
        lamps(&design).remove(0)
    };
    let plain = tower("drive: plain");
    assert!(plain.typical.error > 3.0, "{:?}", plain.typical);
    // What is left, typically and over the spread: a capacitor takes out the charge of one storage time, a
    // diode brings a capacitance of its own.
    for (drive, typically, over) in [
        ("speed-up", 1.0, 4.0),
        ("clamp", 1.7, 2.0),
        ("sink", 1.0, 1.0),
    ] {
        let lamp = tower(&format!("drive: {drive}, leds: 1"));
        assert!(
            lamp.typical.error.abs() <= typically,
            "{drive}: {:?}",
            lamp.typical
        );
        let spread = lamp.over_storage.map(|off| off.error.abs());
        assert!(
            spread.iter().all(|error| *error <= over),
            "{drive}: {spread:?}"
        );
        assert_eq!(lamp.not_rising, 0, "{drive}");
    }
}

#[test]
fn storage_moves_the_light_of_a_saturated_part_only() {
    for (switch, moves) in [
        ("transistor: 2n2222", true),
        ("switch: mosfet, transistor: 2n7000", false),
    ] {
        let [half, more] = quay(switch).over_storage.map(|off| off.error);
        assert_eq!((more - half).abs() > 0.5, moves, "{switch}");
    }
}

/// The aims of the demos: within 1 L* with their parts as they are, within 2 L* over what such parts spread,
/// and no level that is not brighter than the one below.
#[test]
fn the_demos_are_lit_as_they_should_be() {
    for demo in ["harbour", "lantern", "theatre"] {
        let path = format!("patterns/{demo}.yaml");
        let design = duskloom::design::Design::read(path.as_ref()).expect("a sound demo");
        let lamps = lamps(&design);
        assert_eq!(lamps.len(), design.project.channels.len(), "{demo}");
        for lamp in lamps {
            assert!(lamp.typical.error.abs() <= 1.0, "{demo}: {lamp:?}");
            let spread = lamp.over_storage.map(|off| off.error.abs());
            assert!(spread.iter().all(|error| *error <= 2.0), "{demo}: {lamp:?}");
            assert_eq!(lamp.not_rising, 0, "{demo}: {lamp:?}");
        }
    }
}
