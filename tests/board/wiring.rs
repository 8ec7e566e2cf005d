//! Wiring cards.

use duskloom::board::{self, Wiring};

use crate::board::project::design;

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
