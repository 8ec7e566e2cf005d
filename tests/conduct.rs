//! What a person's hand and a power cut meet, in the model: presses with gaps, changes that are saved
//! in time, chips that are new. That the chip does the same, `verify` proves.

use std::process::Command;

use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::emit;
use duskloom::firmware::Light;
use duskloom::input::Sensed;
use duskloom::light::cie;
use duskloom::player::Generator;
use duskloom::units::Time;

use crate::common::{avr_gcc, designs};

const ERASED: [u8; 256] = [0xFF; 256];

/// A signal lamp with two patterns, both steady, and whatever else is said.
fn lamp(more: &str) -> Design {
    let text = format!(
        "name: lamp\nchip: attiny2313a\nclock: 8 MHz internal\nchannels: {{lamp: {{pin: PB2}}}}\n\
         patterns:\n  low: [{{to: 20 %, over: 1 s}}, {{to: 30 %, over: 1 s}}]\n  \
         high: [{{to: 80 %, over: 1 s}}, {{to: 70 %, over: 1 s}}]\n{more}"
    );
    designs::from_text("lamp.yaml", &text)
}

fn erased(design: &Design) -> Vec<u8> {
    ERASED[..design.plan.chip.eeprom.size.0 as usize].to_vec()
}

fn new_light(design: &Design) -> Light<'_> {
    let mut light = Light::power_up(design.works(), &erased(design), Generator::new(7));
    light.turn(false);
    turns(&mut light, design, 0.5, false);
    light
}

/// How many scenes started in so many seconds, and how many bytes were written.
fn turns(light: &mut Light, design: &Design, seconds: f64, down: bool) -> (usize, usize) {
    let ticks = (seconds / design.plan.tick.seconds()).round() as usize;
    let (mut started, mut saved) = (0, 0);
    for _ in 0..ticks {
        let turn = light.turn(down);
        started += usize::from(turn.started.is_some());
        saved += usize::from(turn.saved.is_some());
    }
    (started, saved)
}

#[test]
fn a_gap_shorter_than_debounce_ends_no_press() {
    let design = lamp("tick: 1 ms\nshows: [{solo: {}}]\nbutton: {pin: PD2, debounce: 25 ms}\n");
    for gap in 1..25 {
        let mut light = new_light(&design);
        let mut started = 0;
        let parts = [(60, true), (gap, false), (60, true), (100, false)];
        for (milliseconds, down) in parts {
            started += turns(&mut light, &design, f64::from(milliseconds) / 1e3, down).0;
        }
        assert_eq!(started, 1, "a gap of {gap} ms");
    }
}

#[test]
fn a_press_shorter_than_debounce_does_nothing() {
    for tick in [1, 4, 5] {
        let design = lamp(&format!(
            "tick: {tick} ms\nshows: [{{solo: {{}}}}]\nbutton: {{pin: PD2, debounce: 25 ms}}\n"
        ));
        // A contact that is closed for so many ticks is seen closed once more at most.
        let pressed = |milliseconds: u32| {
            let mut light = new_light(&design);
            for _ in 0..=milliseconds / tick {
                light.turn(true);
            }
            turns(&mut light, &design, 0.1, false).0
        };
        assert_eq!(pressed(20), 0, "20 ms with a tick of {tick} ms");
        assert_eq!(pressed(40), 1, "40 ms with a tick of {tick} ms");
    }
}

#[test]
fn a_change_is_safe_in_time_however_long_a_show_dwells() {
    for after in ["100 ms", "2 s", "7 s", "45 s", "10 min"] {
        for dwell in [
            "",
            "  - roam: {dwell: 20 s .. 60 s}\n",
            "  - roam: {dwell: 1 h .. 2 h}\n",
        ] {
            let design = lamp(&format!(
                "shows:\n  - solo: {{}}\n{dwell}button: {{pin: PD2}}\nmemory: {{after: {after}}}\n"
            ));
            let wanted = design.project.memory.unwrap().value.after;
            let tick = design.plan.tick.seconds();
            let saving = design.firmware.memory.as_ref().unwrap().saving;
            let write = design.plan.chip.eeprom.write();
            let within = saving.safe_within(&design.plan.tick, wanted, write);
            assert_eq!(within, Time(wanted.0 + Time::from_millis(300).0));
            let most = within.seconds();
            for phase in [0, 1, 3, 17, 101] {
                let mut light = new_light(&design);
                turns(&mut light, &design, f64::from(phase) * tick, false);
                turns(&mut light, &design, 0.1, true);
                while light.turn(false).started.is_none() {}
                let place = light.state()[0];
                let mut seconds = 0.0;
                let safe = |light: &Light| {
                    let found = Light::recalled(&design.firmware, light.eeprom());
                    found.is_some_and(|state| state[0] == place)
                };
                while !safe(&light) {
                    light.turn(false);
                    seconds += tick;
                    assert!(seconds < most, "after {after}, {dwell}: {seconds:.2} s");
                }
                assert!(
                    seconds > 0.9 * wanted.seconds() - 0.1,
                    "{after}: {seconds:.2} s"
                );
            }
        }
    }
}

const SHOWS: &str = "shows:\n  - roam: {dwell: 20 s .. 60 s}\n  - solo: {}\nbutton: {pin: PD2}\n";

#[test_with::executable("avr-gcc")]
#[test]
fn without_memory_a_firmware_is_no_larger() {
    let flash = |text: &str| {
        let built = avr_gcc::build(&emit::firmware(&lamp(text)));
        built.firmware.flash_use.0
    };
    let (off, on) = (flash(&format!("{SHOWS}memory: off\n")), flash(SHOWS));
    assert!(off <= on, "{off} B without memory, {on} B with it");
}

#[test]
fn without_memory_a_power_up_saves_a_seed_and_a_tap_nothing() {
    let off = lamp(&format!("{SHOWS}memory: off\n"));
    let mut light = Light::power_up(off.works(), &erased(&off), Generator::new(7));
    light.turn(false);
    let (_, seed) = turns(&mut light, &off, 1.0, false);
    assert_eq!(seed, 4, "two bytes of seed, the gap and the check byte");
    for _ in 0..20 {
        let (_, held) = turns(&mut light, &off, 0.1, true);
        let (started, saved) = turns(&mut light, &off, 0.5, false);
        assert_eq!((started, held + saved), (1, 0));
    }
}

#[test_with::executable("make")]
#[test]
fn a_seed_of_ones_own_is_what_the_chip_begins_with() {
    let design = lamp(SHOWS);
    let folder = std::env::temp_dir().join(format!("duskloom-seed-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let makefile = emit::firmware(&design)
        .into_iter()
        .find(|file| file.path == "Makefile");
    std::fs::write(folder.join("Makefile"), makefile.unwrap().text).unwrap();
    std::fs::write(folder.join("lamp.hex"), "").unwrap();
    let dry = |seed: &str| {
        let mut make = Command::new("make");
        make.arg("-C")
            .arg(&folder)
            .args(["-n", "-o", "lamp.hex", "flash"]);
        let answer = make
            .args((!seed.is_empty()).then(|| format!("SEED={seed}")))
            .output();
        answer.map(|answer| String::from_utf8(answer.stdout).unwrap())
    };
    let plain = dry("").unwrap();
    assert!(
        plain.contains("flash:w:") && !plain.contains("eeprom"),
        "{plain}"
    );
    for seed in [0_u16, 1, 7, 4711, 65_535] {
        let said = dry(&seed.to_string()).unwrap();
        let bytes = said
            .split("eeprom:w:")
            .nth(1)
            .and_then(|rest| rest.split(":m").next());
        let bytes = bytes.unwrap_or_else(|| panic!("{said}")).split(',');
        let bytes: Vec<u8> = bytes.map(|byte| byte.trim().parse().unwrap()).collect();
        let mut eeprom = erased(&design);
        eeprom[..bytes.len()].copy_from_slice(&bytes);
        let state = Light::recalled(&design.firmware, &eeprom).expect("a valid record");
        let (choices, generator) = state.split_at(state.len() - 2);
        assert!(choices.iter().all(|byte| *byte == 0), "{state:?}");
        assert_eq!(generator, seed.wrapping_mul(40_503).to_le_bytes());
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_start_that_loses_ticks_says_how_much() {
    let chase = designs::from_text(
        "chase.yaml",
        "name: chase\nchip: attiny2313a\nclock: 8 MHz internal\ntick: 1 ms\nchannels: 4\n\
         patterns:\n  chase:\n    stagger: 700 ms\n    steps:\n      \
         - repeat: 200\n        steps: [{to: 4 %, over: 2 ms}, {to: 2 %, over: 2 ms}]\n      \
         - {hold: 3 s}\n",
    );
    assert_eq!(budget(&lamp("")).row("late"), None);
    let verdict = budget(&chase);
    let late = verdict
        .row("late")
        .expect("a start of more than 256 periods")
        .figure
        .value();
    let start = verdict.row("start").unwrap().figure.value();
    // 256 periods of 256 cycles at 8 MHz are 8.192 ms.
    let lost = (start / 8.192e-3).floor() * 8.192e-3;
    assert!((late - lost).abs() < 1e-3, "{late} of {start}");
}

/// Two buttons that set the brightness of a full light.
fn dimmed(more: &str) -> Design {
    let text = format!(
        "name: dimmed\nchip: attiny45\nclock: 8 MHz internal\ntick: 5 ms\nchannels: {{lamp: {{pin: PB0}}}}\n\
         patterns: {{on: [{{set: 100 %}}, {{hold: 1 s}}]}}\n\
         inputs: {{up: {{pin: PB3, tap: brighter}}, down: {{pin: PB4, tap: darker}}}}\n{more}"
    );
    designs::from_text("dimmed.yaml", &text)
}

const UP: u8 = 1;
const DOWN: u8 = 2;

/// Plays on with these buttons down for so many ticks, then with none for as many as it takes.
fn hold(light: &mut Light, contacts: u8, ticks: usize) {
    for contacts in std::iter::repeat_n(contacts, ticks).chain(std::iter::repeat_n(0, 12)) {
        light.play();
        light.turn(Sensed {
            contacts,
            ..Sensed::REST
        });
    }
}

/// CIE 1976 lightness (ISO/CIE 11664-4) of each step, from full down: as much apart everywhere.
#[test]
fn steps_of_brightness_look_equal() {
    for (steps, more) in [
        (8, ""),
        (5, "brightness: {steps: 5}\n"),
        (16, "brightness: {steps: 16}\n"),
    ] {
        let design = dimmed(more);
        let mut light = Light::power_up(design.works(), &erased(&design), Generator::new(7));
        hold(&mut light, 0, 20);
        let mut seen = vec![cie::lightness(light.play()[0].luminance()).0];
        for _ in 1..steps {
            hold(&mut light, DOWN, 12);
            seen.push(cie::lightness(light.play()[0].luminance()).0);
        }
        assert!((seen[0] - 100.0).abs() < 0.1, "{seen:?}");
        let wanted = 100.0 / f64::from(steps);
        for pair in seen.windows(2) {
            // Half a level of 255 at either end, and what packing brings.
            assert!((pair[0] - pair[1] - wanted).abs() < 1.0, "{seen:?}");
        }
        assert!(
            seen.last().is_some_and(|least| *least > wanted - 1.0),
            "{seen:?}"
        );
    }
}

#[test]
fn a_held_button_goes_on_and_both_do_nothing() {
    let design = dimmed("brightness: {repeat: 500 ms}\n");
    let mut light = Light::power_up(design.works(), &erased(&design), Generator::new(7));
    let taken = |light: &Light| (u8::MAX - light.gain().0) / 32;
    hold(&mut light, 0, 20);
    hold(&mut light, DOWN, 6 + 300);
    assert_eq!(taken(&light), 4, "at once, and three times in 1.5 s");
    hold(&mut light, UP | DOWN, 500);
    assert_eq!(taken(&light), 4);
    hold(&mut light, UP, 12);
    assert_eq!(taken(&light), 3);
}

/// It is remembered unless `memory` is off, and what other steps have left is not taken.
#[test]
fn brightness_comes_back_with_its_steps_alone() {
    let design = dimmed("");
    let mut light = Light::power_up(design.works(), &erased(&design), Generator::new(7));
    hold(&mut light, 0, 20);
    hold(&mut light, DOWN, 12);
    hold(&mut light, 0, 1000);
    let eeprom = light.eeprom().to_vec();
    let gain = |design: &Design| {
        Light::power_up(design.works(), &eeprom, Generator::new(9))
            .gain()
            .0
    };
    assert_eq!(gain(&design), 255 - 32);
    assert_eq!(gain(&dimmed("brightness: {steps: 5}\n")), 255);
    assert_eq!(gain(&dimmed("memory: off\n")), 255);
}

#[test]
fn a_further_button_goes_back_as_well_as_on() {
    let design = lamp(
        "  third: [{set: 50 %}]\ninputs: {back: {pin: PD3, tap: previous}, on: {pin: PD4, tap: next}}\n",
    );
    let mut light = Light::power_up(design.works(), &erased(&design), Generator::new(7));
    hold(&mut light, 0, 40);
    let mut scenes = vec![light.scene()];
    for contacts in [1, 1, 2, 2, 2] {
        hold(&mut light, contacts, 30);
        hold(&mut light, 0, 30);
        scenes.push(light.scene());
    }
    assert_eq!(scenes, [0, 2, 1, 2, 0, 1]);
}
