//! The colour of a string's light: wherever a lamp is drawn, and nowhere in the firmware.

use duskloom::board;
use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::emit;
use duskloom::light::Tint;
use duskloom::page::page;
use duskloom::picture::{self, tint};
use duskloom::preview::View;
use duskloom::spec::Glow;
use duskloom::units::{Kelvin, Nanometres};
use serde_json::Value;

use crate::see::support::{HALT, design, halt_with};

/// The halt with colours: a bulb over the platform, and a signal whose LEDs are said to be red.
fn coloured() -> Design {
    halt_with(&[
        (
            "lamps:  {pin: PB2}",
            "lamps:  {pin: PB2, light: warm white}",
        ),
        ("trim: 70 %}", "trim: 70 %, light: 505 nm}"),
        (
            "button:",
            "strings:\n  all: {forward: 3 V, current: 10 mA, colour: red}\nbutton:",
        ),
    ])
}

const BULB: Glow = Glow::White(Kelvin(2700.0));
const SIGNAL: Glow = Glow::Pure(Nanometres(505.0));

#[test]
fn a_light_goes_before_what_its_leds_say() {
    let design = coloured();
    assert_eq!(tint(&design, 0), Tint::of(BULB));
    assert_eq!(tint(&design, 1), Tint::of(SIGNAL));
}

#[test]
fn no_byte_of_the_firmware_depends_on_it() {
    let without = design(HALT);
    let with = halt_with(&[
        ("lamps:  {pin: PB2}", "lamps:  {pin: PB2, light: candle}"),
        ("trim: 70 %}", "trim: 70 %, light: \"#30FF90\"}"),
    ]);
    let written = |design: &Design| {
        let files = emit::firmware(design).into_iter();
        files.map(|file| (file.path, file.text)).collect::<Vec<_>>()
    };
    assert_eq!(written(&with), written(&without));
}

#[test]
fn hills_and_lamps_have_its_colour() {
    let stops = |svg: &str, colour: &str| svg.matches(&format!("stop-color=\"{colour}\"")).count();
    let lamps = |svg: &str, colour: &str| svg.matches(&format!("fill=\"{colour}\"")).count();
    let fire = picture::timelines(&design(HALT), &View::default());
    assert_eq!(stops(&fire, "#f2a04a"), 6, "three patterns, two strings");
    assert_eq!(lamps(&fire, "#ffc46b"), 8, "four levels, two strings");

    let svg = picture::timelines(&coloured(), &View::default());
    for glow in [BULB, SIGNAL] {
        let tint = Tint::of(glow);
        assert_eq!(stops(&svg, &tint.to_string()), 3, "{glow}");
        assert_eq!(stops(&svg, &tint.paler().to_string()), 3, "{glow}");
        assert_eq!(lamps(&svg, &tint.to_string()), 4, "{glow}");
    }
    assert_eq!(stops(&svg, "#f2a04a") + lamps(&svg, "#ffc46b"), 0);
}

#[test]
fn the_page_has_it() {
    let design = coloured();
    let verdict = budget(&design);
    let page = page(&design, &verdict, &[]);
    let (_, after) = page.split_once("id=\"data\">").expect("data");
    let (data, _) = after.split_once("</script>").expect("its end");
    let data: Value = serde_json::from_str(data).expect("JSON");
    for (channel, glow) in [BULB, SIGNAL].into_iter().enumerate() {
        let found = &data["channels"][channel];
        assert_eq!(found["tint"], serde_json::json!(Tint::of(glow).0));
        assert_eq!(found["slope"]["side"], Tint::of(glow).to_string());
    }
}

#[test]
fn the_circuit_and_the_parts_list_have_it() {
    let design = coloured();
    let card = board::wiring(&design, &budget(&design).board);
    let leds: Vec<&str> = card
        .parts
        .iter()
        .map(|part| part.what.as_str())
        .filter(|what| what.starts_with("LED"))
        .collect();
    assert_eq!(
        leds,
        ["LED, 2700 K, 3 V at 10 mA", "LED, 505 nm, 3 V at 10 mA"]
    );
    for glow in [BULB, SIGNAL] {
        let lens = format!("<circle fill=\"{}\"", Tint::of(glow));
        assert_eq!(card.svg().matches(&lens).count(), 1, "{glow}");
    }
}
