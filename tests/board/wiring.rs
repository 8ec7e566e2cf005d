//! Wiring cards.

use duskloom::board::wiring::Drawing;
use duskloom::board::{self, Wiring};

use crate::board::project::design;
use crate::common::designs::from_file;

fn card(name: &str) -> Wiring {
    let design = design(&format!("{name}.yaml"));
    board::wiring(&design, &board::report(&design))
}

#[test]
fn cards_read_well() {
    for name in ["harbour", "bare", "crystal", "four-rows"] {
        insta::assert_snapshot!(format!("wiring-{name}"), card(name).text());
    }
}

#[test]
fn every_leg_in_use_is_named_once() {
    let card = card("harbour");
    for (what, legs) in [
        ("quay", 1),
        ("button", 1),
        ("charge pump", 2),
        ("reset", 1),
        ("100 nF", 1),
    ] {
        let found = card
            .legs
            .iter()
            .filter(|leg| leg.purpose.contains(what))
            .count();
        assert_eq!(found, legs, "{what}");
    }
    assert_eq!(card.legs.len(), 20);
}

#[test]
fn what_can_hurt_is_said() {
    let harbour = card("harbour").cautions.join(" ");
    for word in [
        "photosensitive",
        "capacitors stay",
        "regulator",
        "Batteries",
    ] {
        assert!(harbour.contains(word), "{word}");
    }
    let bare = card("bare").cautions.join(" ");
    assert!(bare.contains("photosensitive") && bare.contains("licensed"));
    assert!(!bare.contains("Charge pump") && !bare.contains("Batteries"));
}

/// A crystal and an external clock make the chip mute without them; a strobe needs a notice.
#[test]
fn what_may_go_wrong_is_said_before_it_does() {
    let crystal = card("crystal");
    let warnings = crystal.fuse_warnings.join(" ");
    assert!(warnings.contains("only while the crystal"), "{warnings}");
    let command = crystal.fuse_command.as_deref().expect("fuses must change");
    assert!(command.starts_with("avrdude -c ") && command.contains("-U lfuse:w:0x"));
    let text = crystal.text();
    let (warned, told) = (text.find("Before you write"), text.find("avrdude -c"));
    assert!(warned < told, "the warning comes first");
    assert!(card("strobe").cautions[0].contains("FLASHES"));
    assert!(!card("harbour").cautions[0].contains("FLASHES"));
}

/// Every leg is in the picture, with two rows and with four, and nothing leaves its frame.
#[test]
fn pictures_show_every_leg() {
    for name in ["harbour", "four-rows"] {
        let card = card(name);
        let svg = card.svg();
        insta::assert_snapshot!(format!("picture-{name}"), svg);
        assert_eq!(
            svg.matches("<g transform=\"translate").count(),
            card.legs.len()
        );
        for leg in &card.legs {
            assert!(svg.contains(&format!(">{}</text>", leg.number)), "{leg:?}");
            assert!(svg.contains(&format!(">{}</tspan>", leg.name)), "{leg:?}");
        }
        let places = svg.split("translate(").skip(1).map(|place| {
            let (place, _) = place.split_once(')').expect("closed");
            let (x, y) = place.split_once(' ').expect("two");
            (x.parse().expect("a number"), y.parse().expect("a number"))
        });
        let mut places: Vec<(u32, u32)> = places.collect();
        places.sort_unstable();
        places.dedup();
        assert_eq!(places.len(), card.legs.len(), "two legs in one place");
    }
}

/// All values of a string, its switch and its LEDs stand in its drawing, which is drawn once for all alike.
#[test]
fn a_drawing_has_every_part_of_its_string() {
    for demo in ["harbour", "lantern", "theatre"] {
        let design = from_file(format!("patterns/{demo}.yaml"));
        let card = board::wiring(&design, &board::report(&design));
        for (channel, hung) in design.project.channels.iter().zip(&design.circuit.strings) {
            let string = hung.expect("it is given").string;
            let begins = format!("{} on ", channel.name.value);
            let of = |drawing: &&Drawing| drawing.of.iter().any(|of| of.starts_with(&begins));
            let mut drawn = card.strings.iter().filter(of);
            let lines = drawn.next().expect("it is drawn").lines.join("\n");
            assert!(drawn.next().is_none());
            let mut values = vec![string.resistor.to_string()];
            values.extend(string.base.map(|base| base.resistor.to_string()));
            values.extend(string.sink.map(|sink| sink.divider.lower.to_string()));
            let capacitor = string.base.and_then(|base| base.speed_up);
            values.extend(capacitor.map(|capacitor| capacitor.to_string()));
            for value in &values {
                assert!(lines.contains(value), "{value} in\n{lines}");
            }
            let diode = channel.name.value == "beacon";
            assert_eq!(lines.contains("Schottky"), diode, "{lines}");
            assert!(lines.is_ascii() && lines.lines().all(|line| line.len() < 96));
        }
    }
}
