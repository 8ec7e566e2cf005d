//! The page's inputs: its light does what the model does, and people can press it.

use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::firmware::{Begin, Light};
use duskloom::input::Sensed;
use duskloom::page::page;
use duskloom::player::Generator;
use rand::{Rng, SeedableRng};
use serde_json::{Value, json};
use tempfile::TempDir;

use crate::see::browser::Browser;
use crate::see::support::design;

/// A ferry's landing: two shows by a button that also puts it off, a bell that plays once, changes that fade.
const LANDING: &str = "\
name: landing
chip: attiny4313
channels: [quay, mast]
brightness: {levels: 64}
tick: 10 ms
patterns:
  calm: [{to: 80 %, over: 2 s, ease: soft}, {to: 20 %, over: 3 s}]
  fog: [{set: {quay: 30 %, mast: 0 %}}, {hold: 1 s}, {to: {mast: 90 %}, over: 500 ms}, {hold: 700 ms}]
  bell: [{set: 0 %}, {to: {quay: 100 %}, over: 300 ms}, {hold: 900 ms}]
shows:
  - solo: {patterns: [calm, fog]}
  - steady: {levels: 4}
change_fade: 600 ms
button: {pin: PD2}
standby: {hold: 3 s}
inputs:
  rope: {pin: PD3, plays: bell, for: 2 s}
supply: {volts: 5 V}
";

/// A gate: a switch between two shows, two contacts, a beginning, and no fade.
const GATE: &str = "\
name: gate
chip: attiny4313
channels: [left, right]
brightness: {levels: 32}
tick: 8 ms
patterns:
  day: [{set: 10 %}, {hold: 400 ms}, {to: 40 %, over: 1 s}]
  dusk: [{to: {left: 70 %, right: 20 %}, over: 1 s}, {to: {left: 20 %, right: 70 %}, over: 1 s}]
  opening: [{set: 0 %}, {to: {left: 100 %}, over: 600 ms}, {to: {right: 100 %}, over: 600 ms}]
  shut: [{set: 60 %}, {to: 0 %, over: 900 ms}]
shows: [{solo: {patterns: day}}, {solo: {patterns: dusk}}]
start: {plays: opening}
inputs:
  lever: {pin: PD2, selects: shows}
  hinge: {pin: PD3, plays: opening}
  latch: {pin: PD4, plays: shut, for: 1500 ms, debounce: 100 ms}
";

/// A porch that is on for a minute of every three. It remembers nothing: a save would put the night off, and the
/// page's light takes no time to save.
const PORCH: &str = "\
name: porch
chip: attiny4313
channels: [lamp, step]
brightness: {levels: 32}
tick: 10 ms
patterns:
  low: [{set: 30 %}, {hold: 1 s}, {set: {lamp: 40 %}}, {hold: 1 s}]
  high: [{to: 90 %, over: 1 s}, {to: 60 %, over: 1 s}]
shows: [{solo: {patterns: [low, high]}}]
change_fade: 1 s
evening: {on: 1 min, every: 3 min}
memory: off
button: {pin: PD2}
";

/// A kiosk that is on at dusk for a minute, with a knob that is measured in turn.
const KIOSK: &str = "\
name: kiosk
chip: attiny84a
channels: {sign: {pin: PA6}, roof: {pin: PA5}}
brightness: {levels: 64}
tick: 10 ms
patterns:
  low: [{set: 30 %}, {hold: 1 s}, {set: {sign: 40 %}}, {hold: 1 s}]
  high: [{to: 90 %, over: 1 s}, {to: 60 %, over: 1 s}]
change_fade: 500 ms
evening: {on: 1 min}
memory: off
button: {pin: PB2}
inputs:
  sky: {pin: PA0, senses: light, steady: 2 s}
  dim: {pin: PA1, sets: brightness}
battery: {cells: 3, full: 1.5 V, empty: 0.9 V, capacity: 2 Ah}
guard: {off: 1 V}
";

/// A hut on cells, with a guard, a knob that sets the speed, and another scene by button.
const HUT: &str = "\
name: hut
chip: attiny85
channels: {lamp: {pin: PB0}}
brightness: {levels: 64}
tick: 10 ms
patterns:
  low: [{set: 30 %}, {hold: 1 s}]
  high: [{to: 90 %, over: 1 s}, {to: 60 %, over: 1 s}]
button: {pin: PB2}
memory: off
start: {plays: high}
inputs: {pace: {pin: PB4, sets: speed}}
battery: {cells: 3, full: 1.5 V, empty: 0.9 V, capacity: 2 Ah}
guard: {off: 1 V, to: 20 %}
";

/// A darkroom's lamp: a knob, and nothing else.
const LAMP: &str = "\
name: lamp
chip: attiny84a
channels: {lamp: {pin: PA6}}
patterns:
  glow: [{to: 90 %, over: 1 s}, {to: 60 %, over: 1 s}]
inputs:
  dim: {pin: PA1, sets: brightness}
";

/// What is measured of the supply from some tick on: fresh cells, some that sag, low ones, better ones, spent ones.
const SUPPLY: [(usize, u8); 6] = [
    (0, 60),
    (2_000, 90),
    (2_300, 60),
    (9_000, 86),
    (14_000, 70),
    (24_000, 100),
];

fn supply(tick: usize) -> u8 {
    let begun = SUPPLY.iter().rfind(|(from, _)| *from <= tick);
    begun.map_or(0, |(_, measured)| *measured)
}
/// A stage: buttons that make it brighter and darker, changes that fade, and a button that puts it off.
const STAGE: &str = "\
name: stage
chip: attiny84a
channels: {left: {pin: PA6}, right: {pin: PA5}}
brightness: {levels: 64, steps: 6, repeat: 300 ms}
tick: 10 ms
patterns:
  low: [{set: 30 %}, {hold: 1 s}, {set: {left: 80 %}}, {hold: 1 s}]
  high: [{to: 100 %, over: 1 s}, {to: 60 %, over: 1 s}]
change_fade: 500 ms
memory: off
button: {pin: PB2}
standby: {hold: 3 s}
inputs:
  up: {pin: PA0, tap: brighter}
  down: {pin: PA1, tap: darker}
";

/// A shelf: on and back by a button each, and nothing fades.
const SHELF: &str = "\
name: shelf
chip: attiny84a
channels: {left: {pin: PA6}, right: {pin: PA5}}
tick: 10 ms
patterns:
  one: [{set: 30 %}, {hold: 1 s}, {set: {left: 40 %}}, {hold: 1 s}]
  two: [{to: 90 %, over: 1 s}, {to: 60 %, over: 1 s}]
  three: [{set: 100 %}, {hold: 700 ms}, {set: 50 %}, {hold: 300 ms}]
inputs:
  back: {pin: PA0, tap: previous}
  on: {pin: PA1, tap: next}
";

/// A bench lamp: brighter and darker, and nothing else.
const BENCH: &str = "\
name: bench
chip: attiny84a
channels: {lamp: {pin: PA6}}
patterns:
  glow: [{to: 90 %, over: 1 s}, {to: 60 %, over: 1 s}]
inputs:
  down: {pin: PA0, tap: darker}
  up: {pin: PA1, tap: brighter}
";

/// How far a knob is up, by two bits of a hand: ends, and places between.
const TURNS: [u8; 4] = [255, 140, 2, 60];

fn saved(design: &Design) -> (TempDir, std::path::PathBuf) {
    let verdict = budget(design);
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("light.html");
    std::fs::write(&path, page(design, &verdict, &[])).expect("a file");
    (folder, path)
}

/// What somebody has closed, tick by tick: a bit for the button, one for the switch, two for contacts. Some of it
/// bounces, some of it is long.
fn hands(seed: u64, ticks: usize) -> Vec<u8> {
    let mut dice = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let mut lines: [(u32, bool); 4] = [(0, false); 4];
    let mut all = Vec::with_capacity(ticks);
    for _ in 0..ticks {
        for (left, closed) in &mut lines {
            if *left == 0 {
                *closed = !*closed;
                *left = match dice.random_range(0..8) {
                    0 => dice.random_range(1..3),
                    1 => dice.random_range(60..420),
                    _ if *closed => dice.random_range(3..40),
                    _ => dice.random_range(100..900),
                };
            }
            *left -= 1;
        }
        let bits = lines.iter().enumerate();
        all.push(bits.map(|(at, (_, closed))| u8::from(*closed) << at).sum());
    }
    all
}

/// The duties of all channels, tick by tick, as the model has them.
fn modelled(design: &Design, hands: &[u8]) -> Vec<Vec<u16>> {
    let erased = vec![0xFF; design.plan.chip.eeprom.size.0 as usize];
    let begin = Begin {
        chance: Generator::new(Generator::FIRST),
        switch: hands[0] & 2 != 0,
    };
    let mut light = Light::power_up(design.works(), &erased, begin);
    let tick = |(tick, hand): (usize, &u8)| {
        let duties = light.play().into_iter().map(|duty| duty.0).collect();
        light.turn(Sensed {
            button: hand & 1 != 0,
            switch: hand & 2 != 0,
            contacts: hand >> 2,
            knob: TURNS[usize::from(hand >> 2)],
            room: if hand & 2 != 0 { 0 } else { 255 },
            cells: supply(tick),
        });
        duties
    };
    hands.iter().enumerate().map(tick).collect()
}

/// The same by the page.
fn browsed(browser: &mut Browser, hands: &[u8]) -> Vec<Vec<u16>> {
    let played = browser.value(&format!(
        "{{const data = JSON.parse(document.getElementById('data').textContent), hands = {}, turns = {}, supply = {};\
         const light = new Light(data.conduct, data.patterns, (hands[0] & 2) !== 0);\
         JSON.stringify(hands.map((hand, tick) => {{\
           const levels = light.play();\
           light.closed = light.bright = (hand & 2) !== 0;\
           light.knob = turns[hand >> 2];\
           light.supply = supply[tick];\
           light.turn((hand & 1) !== 0, [(hand & 4) !== 0, (hand & 8) !== 0]);\
           return levels.map((level, id) => data.channels[id].duties[level]);\
         }}))}}",
        json!(hands),
        json!(TURNS),
        json!((0..hands.len()).map(supply).collect::<Vec<_>>())
    ));
    serde_json::from_str(played.as_str().expect("text")).expect("duties")
}

#[test_with::executable("chromium")]
#[test]
fn the_page_does_what_the_model_does_whatever_is_pressed() {
    let mut browser = Browser::start();
    for (text, seed) in [
        (LANDING, 1),
        (LANDING, 2),
        (GATE, 3),
        (PORCH, 4),
        (KIOSK, 5),
        (LAMP, 6),
        (HUT, 7),
        (STAGE, 7),
        (STAGE, 8),
        (SHELF, 9),
        (BENCH, 10),
    ] {
        let design = design(text);
        let (_folder, path) = saved(&design);
        browser.open(&path);
        let hands = hands(seed, 30_000);
        let (model, page) = (modelled(&design, &hands), browsed(&mut browser, &hands));
        let differs = model
            .iter()
            .zip(&page)
            .position(|(model, page)| model != page);
        if let Some(tick) = differs {
            let name = &design.project.name.value;
            panic!(
                "{name} at tick {tick}: {:?} is not {:?}",
                page[tick], model[tick]
            );
        }
        assert_eq!(model.len(), page.len());
        let dark = model
            .iter()
            .filter(|duties| duties.iter().all(|duty| *duty == 0));
        assert!(dark.count() < model.len() / 2, "something is seen");
    }
    assert_eq!(browser.complaints, [""; 0]);
}

fn doing(browser: &mut Browser) -> String {
    browser.text("document.getElementById('doing').textContent")
}

fn press(browser: &mut Browser, does: &str) {
    browser.value(&format!(
        "document.querySelector('[data-does=\"{does}\"]').click()"
    ));
}

fn wait_for(browser: &mut Browser, words: &str) {
    browser.wait(&format!(
        "document.getElementById('doing').textContent === '{words}'"
    ));
}

#[test_with::executable("chromium")]
#[test]
fn people_can_press_it() {
    let mut browser = Browser::start();
    let (_folder, path) = saved(&design(LANDING));
    browser.open(&path);
    assert_eq!(doing(&mut browser), "one pattern by itself");
    press(&mut browser, "begin");
    wait_for(&mut browser, "show 1, solo: calm");
    press(&mut browser, "tap");
    wait_for(&mut browser, "show 1, solo: fog");
    assert_eq!(
        browser.text("document.querySelector('#patterns input:checked + span').textContent"),
        "fog"
    );
    browser.press("h");
    wait_for(&mut browser, "show 2, steady: steady 1 of 4");
    browser.press("t");
    wait_for(&mut browser, "show 2, steady: steady 2 of 4");
    press(&mut browser, "contact 0");
    wait_for(&mut browser, "once: bell");
    wait_for(&mut browser, "show 2, steady: steady 2 of 4");
    browser.press("o");
    wait_for(&mut browser, "off; a tap wakes it");
    let lamps = "[...document.querySelectorAll('.lamp')].every(lamp => \
                 getComputedStyle(lamp).backgroundColor === 'rgb(0, 0, 0)')";
    browser.wait(lamps);
    browser.press("t");
    wait_for(&mut browser, "show 2, steady: steady 2 of 4");

    // A pattern that is chosen plays by itself, and an input goes on from there.
    browser.value("document.querySelectorAll('#patterns input')[1].click()");
    assert_eq!(doing(&mut browser), "one pattern by itself");
    press(&mut browser, "tap");
    wait_for(&mut browser, "show 1, solo: calm");
    assert_eq!(browser.complaints, [""; 0]);
}

#[test_with::executable("chromium")]
#[test]
fn a_switch_stays_where_it_is_put() {
    let mut browser = Browser::start();
    let (_folder, path) = saved(&design(GATE));
    browser.open(&path);
    let pressed = "document.querySelector('[data-does=switch]').getAttribute('aria-pressed')";
    press(&mut browser, "begin");
    wait_for(&mut browser, "once: opening");
    wait_for(&mut browser, "show 1, solo: day");
    press(&mut browser, "switch");
    wait_for(&mut browser, "show 2, solo: dusk");
    assert_eq!(browser.text(pressed), "true");
    browser.press("2");
    wait_for(&mut browser, "once: shut");
    wait_for(&mut browser, "show 2, solo: dusk");
    browser.press("w");
    wait_for(&mut browser, "show 1, solo: day");
    assert_eq!(browser.text(pressed), "false");
    assert_eq!(browser.complaints, [""; 0]);
}

/// Steady levels stand beside the patterns; nothing is offered that does nothing.
#[test]
fn all_that_does_something_is_offered() {
    let offered = |text: &str| -> (Vec<String>, Vec<String>) {
        let design = design(text);
        let page = page(&design, &budget(&design), &[]);
        let all = page.split("data-does=\"").skip(1);
        let all = all.map(|rest| rest.split('"').next().unwrap_or_default().to_string());
        let (_, data) = page.split_once("id=\"data\">").expect("data");
        let (data, _) = data.split_once("</script>").expect("its end");
        let data: Value = serde_json::from_str(data).expect("JSON");
        let names = data["patterns"].as_array().expect("patterns").iter();
        let names = names.map(|one| one["name"].as_str().expect("a name").to_string());
        (all.collect(), names.collect())
    };
    let (inputs, patterns) = offered(LANDING);
    assert_eq!(inputs, ["begin", "tap", "hold", "long", "contact 0"]);
    assert_eq!(
        patterns,
        [
            "calm",
            "fog",
            "bell",
            "steady 1 of 4",
            "steady 2 of 4",
            "steady 3 of 4",
            "steady 4 of 4"
        ]
    );
    assert_eq!(
        offered(GATE).0,
        ["begin", "contact 0", "contact 1", "switch"]
    );
    assert_eq!(
        offered(STAGE).0,
        ["begin", "tap", "long", "contact 0", "contact 1"]
    );
    assert_eq!(offered(BENCH).0, ["begin", "contact 0", "contact 1"]);
    let alone = "chip: attiny85\nchannels: 1\npatterns: {p: [{to: 50 %, over: 1 s}, {to: 0 %, over: 1 s}]}\n";
    assert_eq!(offered(alone).0, [""; 0]);
}
