//! Wiring cards.

use duskloom::board::wiring::{Drawing, ItemKind};
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

/// What stays where it is put is no push button, in the parts list and in the drawing.
#[test]
fn a_switch_is_a_switch_and_a_contact_a_contact() {
    let toll = from_file("patterns/toll.yaml");
    let card = board::wiring(&toll, &board::report(&toll));
    let kinds = |kind: ItemKind| card.parts.iter().filter(move |part| part.kind == kind);
    let contacts = toll.project.contacts.len();
    assert!(contacts > 0 && toll.project.selector.is_some());
    assert_eq!(kinds(ItemKind::Button).count(), 0);
    assert_eq!(kinds(ItemKind::Contact).count(), contacts);
    let what: Vec<&str> = kinds(ItemKind::Switch)
        .map(|part| part.what.as_str())
        .collect();
    assert_eq!(what, ["on-off switch"]);
    let svg = card.svg();
    let (lever, knob, push) = ("M16 -2L36 -11", "cx=\"35\" cy=\"-11\"", "M18 -16h14");
    assert_eq!(svg.matches(lever).count(), contacts);
    assert_eq!(svg.matches(knob).count(), 1);
    assert_eq!(svg.matches(push).count(), 0);
}

/// A further button is a push button of its own name.
#[test]
fn further_buttons_are_push_buttons() {
    let desk = from_file("patterns/observatory.yaml");
    let card = board::wiring(&desk, &board::report(&desk));
    let buttons = card
        .parts
        .iter()
        .filter(|part| part.kind == ItemKind::Button);
    let places: Vec<&str> = buttons.map(|part| part.place.as_str()).collect();
    let names = ["onward", "back", "brighter", "darker"];
    assert_eq!(places.len(), names.len());
    for (place, name) in places.iter().zip(names) {
        assert!(place.starts_with(&format!("{name}: ")), "{place}");
    }
    let contacts = card
        .parts
        .iter()
        .filter(|part| part.kind == ItemKind::Contact);
    assert_eq!(contacts.count(), 0);
    let legs = card
        .legs
        .iter()
        .filter(|leg| leg.purpose.contains("(button)"));
    assert_eq!(legs.count(), names.len());
}

fn demos() -> impl Iterator<Item = Wiring> {
    let demos = ["harbour", "lantern", "theatre"].into_iter();
    let demos = demos.map(|demo| from_file(format!("patterns/{demo}.yaml")));
    let cards = demos.map(|design| board::wiring(&design, &board::report(&design)));
    let fixtures = ["harbour", "bare", "crystal", "four-rows"];
    cards.chain(fixtures.map(card))
}

/// Words of a picture, as they stand.
fn words(svg: &str) -> Vec<String> {
    let tree = roxmltree::Document::parse(svg).expect("XML");
    let texts = tree.descendants().filter(|node| node.has_tag_name("text"));
    texts
        .map(|text| {
            let parts = text.descendants().filter(|node| node.is_text());
            parts.filter_map(|node| node.text()).collect::<String>()
        })
        .collect()
}

#[test]
fn a_circuit_is_drawn_whole() {
    for name in ["harbour", "four-rows"] {
        insta::assert_snapshot!(format!("picture-{name}"), card(name).svg());
    }
    for card in demos() {
        let words = words(&card.svg());
        for leg in &card.legs {
            let number = leg.number.to_string();
            assert!(words.contains(&number), "{leg:?}");
            let own = |text: &&String| text.trim().contains(leg.name.as_str());
            assert!(words.iter().any(|text| own(&text)), "{leg:?}");
        }
        for item in &card.parts {
            let marked = item.marked();
            let drawn = |text: &&String| text.split(' ').any(|word| word == marked);
            assert!(words.iter().any(|text| drawn(&text)), "{item:?}");
            assert_eq!(item.marks.len(), item.count as usize);
        }
    }
}

/// No mark is given twice, and none is drawn that is not on the list.
#[test]
fn the_list_and_the_drawing_have_the_same_parts() {
    for card in demos() {
        let marks: Vec<&String> = card.parts.iter().flat_map(|item| &item.marks).collect();
        let unique: std::collections::BTreeSet<_> = marks.iter().collect();
        assert_eq!(unique.len(), marks.len());
        let listed: Vec<String> = card
            .parts
            .iter()
            .map(duskloom::board::wiring::Item::marked)
            .collect();
        let tree = card.svg();
        let tree = roxmltree::Document::parse(&tree).expect("XML");
        let bold = |node: &roxmltree::Node| {
            node.has_tag_name("text") && node.attribute("class") == Some("mark")
        };
        let rails = ["supply", "input", "pump"];
        for node in tree.descendants().filter(bold) {
            let text = node.text().unwrap_or_default();
            assert!(
                rails.contains(&text) || listed.iter().any(|mark| mark == text),
                "{text}"
            );
        }
    }
}

/// A net's name with nobody to join is a loose end: those of legs and rails are there at least twice.
#[test]
fn nets_are_joined() {
    for card in demos() {
        let svg = card.svg();
        let words = words(&svg);
        let tree = roxmltree::Document::parse(&svg).expect("XML");
        let nets = tree.descendants().filter(|node| {
            let flag = |child: roxmltree::Node| {
                child.attribute("class") == Some("net") && child.has_tag_name("path")
            };
            node.has_tag_name("g") && node.children().any(flag)
        });
        for net in nets {
            let name = net
                .descendants()
                .find_map(|node| node.text())
                .expect("a name");
            let ends = words
                .iter()
                .filter(|text| text.split([' ', ',']).any(|word| word == name));
            assert!(ends.count() >= 2, "{name}");
        }
    }
}

/// Nothing leaves its block, and no two blocks overlap.
#[test]
fn blocks_hold_what_is_in_them() {
    for card in demos() {
        for block in card.block_svgs() {
            let tree = roxmltree::Document::parse(&block.svg).expect("XML");
            let side = |name| -> f64 {
                tree.root_element()
                    .attribute(name)
                    .expect("a size")
                    .parse()
                    .expect("a number")
            };
            let (width, height) = (side("width"), side("height"));
            for node in tree.descendants().filter(|node| node.has_tag_name("text")) {
                let (Some(x), Some(y)) = (node.attribute("x"), node.attribute("y")) else {
                    continue;
                };
                let within_a_group = node.ancestors().any(|one| {
                    one.attribute("transform")
                        .is_some_and(|turn| turn != "translate(0 0)")
                });
                if within_a_group {
                    continue;
                }
                let letters: usize = node
                    .descendants()
                    .filter(|one| one.is_text())
                    .filter_map(|one| one.text())
                    .map(|text| text.chars().count())
                    .sum();
                let long = letters as f64 * 7.0;
                let left = x.parse::<f64>().expect("a number")
                    - match node.attribute("text-anchor") {
                        Some("end") => long,
                        Some("middle") => long / 2.0,
                        _ => 0.0,
                    };
                let y: f64 = y.parse().expect("a number");
                assert!(
                    left >= 0.0 && left + long <= width + 1.0 && (0.0..height).contains(&y),
                    "{} in {}",
                    node.text().unwrap_or_default(),
                    block.title
                );
            }
        }
        let tree = card.svg();
        let tree = roxmltree::Document::parse(&tree).expect("XML");
        let number = |node: &roxmltree::Node, name: &str| -> i32 {
            node.attribute(name)
                .expect("a size")
                .parse()
                .expect("a number")
        };
        let blocks = tree
            .descendants()
            .filter(|node| node.attribute("class") == Some("block"));
        let places: Vec<[i32; 4]> = blocks
            .map(|node| {
                let place = node
                    .parent_element()
                    .and_then(|group| group.attribute("transform"))
                    .expect("a place");
                let place = place.trim_start_matches("translate(").trim_end_matches(')');
                let (x, y) = place.split_once(' ').expect("two");
                [
                    x.parse().expect("a number"),
                    y.parse().expect("a number"),
                    number(&node, "width"),
                    number(&node, "height"),
                ]
            })
            .collect();
        for (index, [x, y, w, h]) in places.iter().enumerate() {
            for [a, b, c, d] in &places[..index] {
                let apart = x + w <= *a || a + c <= *x || y + h <= *b || b + d <= *y;
                assert!(apart, "{places:?}");
            }
        }
    }
}

/// What is said above and below the blocks ends before the picture does.
#[test]
fn no_line_leaves_the_picture() {
    for card in demos() {
        let svg = card.svg();
        let tree = roxmltree::Document::parse(&svg).expect("XML");
        let root = tree.root_element();
        let number = |node: &roxmltree::Node, name: &str| -> f64 {
            let text = node.attribute(name).expect("a size");
            text.parse().expect("a number")
        };
        let lines: Vec<_> = root
            .children()
            .filter(|node| node.has_tag_name("text"))
            .collect();
        assert!(lines.len() >= 4, "{} lines", lines.len());
        for line in lines {
            let text = line.text().unwrap_or_default();
            // As wide as letters of 12 pixels are on average, and some.
            let end = number(&line, "x") + 7.0 * text.chars().count() as f64;
            assert!(end <= number(&root, "width"), "{text}");
            assert!(number(&line, "y") < number(&root, "height"), "{text}");
        }
    }
}

/// Letters as IEEE Std 315 has them (from memory), values in SI units.
#[test]
fn parts_are_data() {
    let card = card("harbour");
    let data = serde_json::to_value(&card.parts).expect("data");
    let find = |what: &str| {
        let all = data.as_array().expect("a list").iter();
        let mut found = all.filter(|item| {
            item["what"]
                .as_str()
                .is_some_and(|own| own.starts_with(what))
        });
        found.next().unwrap_or_else(|| panic!("{what}")).clone()
    };
    let capacitor = find("100 nF");
    assert_eq!(capacitor["kind"], "capacitor");
    assert_eq!(capacitor["marks"][0], "C1");
    assert_eq!(
        capacitor["value"],
        serde_json::json!({"value": 1e-7, "unit": "F"})
    );
    let resistor = find("10 kohm");
    assert_eq!(resistor["marks"][0], "R1");
    assert_eq!(
        resistor["value"],
        serde_json::json!({"value": 1e4, "unit": "ohm"})
    );
    assert_eq!(find("push button")["marks"][0], "S1");
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
