//! Wiring cards.

use duskloom::board::wiring;

use crate::project::design;

#[test]
fn cards_read_well() {
    for name in ["harbour", "bare", "crystal", "four-rows"] {
        let card = wiring(&design(&format!("{name}.yaml")));
        insta::assert_snapshot!(format!("wiring-{name}"), card.text());
    }
}

#[test]
fn every_leg_in_purposeis_named_once() {
    let card = wiring(&design("harbour.yaml"));
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
    let harbour = wiring(&design("harbour.yaml")).cautions.join(" ");
    for word in [
        "photosensitive",
        "capacitors stay",
        "regulator",
        "Batteries",
    ] {
        assert!(harbour.contains(word), "{word}");
    }
    let bare = wiring(&design("bare.yaml")).cautions.join(" ");
    assert!(bare.contains("photosensitive") && bare.contains("licensed"));
    assert!(!bare.contains("Charge pump") && !bare.contains("Batteries"));
}
