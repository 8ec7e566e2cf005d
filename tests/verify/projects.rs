//! Small projects that together use every feature, on every family of chips.

use std::collections::BTreeSet;

use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::verify::{Options, PatternEvidence, verify};

use crate::verify::support::{design_of, folder};

/// A few seconds of each scene; `duskloom verify` takes a minute.
fn options() -> Options {
    Options {
        seconds: 3.0,
        alone: 10.0,
        ..Options::default()
    }
}

fn in_registers(design: &Design) -> bool {
    let drive = design.plan.drive.timer();
    drive.is_some_and(|drive| drive.registers.lamps.is_some())
}

/// What the budget allows for the start of a scene, in seconds, and then the wait for its first tick, which comes with
/// a period of the PWM.
fn longest_start(design: &Design) -> f64 {
    let start = budget(design).row("start").unwrap().figure.value();
    let drive = &design.plan.drive;
    let period = f64::from(drive.pwm().length.0) / design.plan.clock.frequency.0;
    start + design.plan.tick.seconds() + period
}

macro_rules! projects {
    ($($test:ident: $file:literal,)*) => {
        const FILES: &[&str] = &[$($file),*];
        $(
            #[test_with::executable("avr-gcc")]
            #[test]
            fn $test() {
                let design = design_of(folder("tests/verify/projects").join($file));
                let evidence = verify(&design, &options()).unwrap();
                assert!(evidence.holds(), "{evidence}");
                let ticks = 0.8 * options().seconds / design.plan.tick.seconds();
                let seen = |pattern: &PatternEvidence| pattern.ticks as f64 > ticks.min(100.0);
                assert!(evidence.patterns.iter().all(seen), "{evidence}");
                let (took, most) = (evidence.timing.unwrap().scene_start, longest_start(&design));
                assert!(took <= most, "a scene took {took} s to start, not {most} s");
            }
        )*
    };
}

projects! {
    parlour_on_attiny85: "parlour-85.yaml",
    fair_on_attiny861a: "fair-861a.yaml",
    millrace_on_attiny85: "millrace-85.yaml",
    buoy_on_attiny44a: "buoy-44a.yaml",
    hut_on_attiny45: "hut-45.yaml",
    pier_on_attiny84a: "pier-84a.yaml",
    weir_on_atmega88a: "weir-88a.yaml",
    belfry_on_attiny2313a: "belfry-2313a.yaml",
    bookstall_on_attiny85: "bookstall-85.yaml",
    booth_on_attiny13a: "booth-13a.yaml",
    gallery_on_atmega328p: "gallery-328p.yaml",
    passage_on_attiny84a: "passage-84a.yaml",
    bridge_on_atmega328p: "bridge-328p.yaml",
    brook_on_attiny84a: "brook-84a.yaml",
    byre_on_attiny85: "byre-85.yaml",
    causeway_on_atmega328p: "causeway-328p.yaml",
    chapel_on_attiny85: "chapel-85.yaml",
    clockwork_on_attiny2313a: "clockwork-2313a.yaml",
    cottage_on_attiny13a: "cottage-13a.yaml",
    crossing_on_atmega328p: "crossing-328p.yaml",
    crane_on_attiny84a: "crane-84a.yaml",
    darkroom_on_attiny13a: "darkroom-13a.yaml",
    dock_on_attiny84a: "dock-84a.yaml",
    organ_on_atmega328p: "organ-328p.yaml",
    quarry_on_attiny13a: "quarry-13a.yaml",
    jetty_on_attiny85: "jetty-85.yaml",
    lock_on_atmega328p: "lock-328p.yaml",
    depot_on_atmega328p: "depot-328p.yaml",
    depot_on_attiny4313: "depot-4313.yaml",
    diorama_on_attiny2313a: "diorama-2313a.yaml",
    dusk_on_attiny85: "dusk-85.yaml",
    forge_on_atmega88: "forge-88.yaml",
    ferry_on_attiny4313: "ferry-4313.yaml",
    gate_on_atmega168: "gate-168.yaml",
    harbour_on_atmega328p: "harbour-328p.yaml",
    hut_on_attiny13a: "hut-13a.yaml",
    inn_on_attiny2313a: "inn-2313a.yaml",
    kerb_on_attiny13a: "kerb-13a.yaml",
    kiosk_on_attiny13a: "kiosk-13a.yaml",
    kiosk_on_attiny2313a: "kiosk-2313a.yaml",
    lamp_on_attiny4313: "lamp-4313.yaml",
    lantern_on_attiny85: "lantern-85.yaml",
    lighter_on_attiny85: "lighter-85.yaml",
    lodge_on_attiny2313a: "lodge-2313a.yaml",
    matins_on_atmega328p: "matins-328p.yaml",
    mews_on_attiny84a: "mews-84a.yaml",
    mill_on_atmega328p: "mill-328p.yaml",
    mooring_on_attiny861a: "mooring-861a.yaml",
    night_on_attiny85: "night-85.yaml",
    pavilion_on_atmega168p: "pavilion-168p.yaml",
    pier_on_attiny13a: "pier-13a.yaml",
    quay_on_atmega88: "quay-88.yaml",
    quayside_on_attiny44a: "quayside-44a.yaml",
    reading_on_attiny2313a: "reading-2313a.yaml",
    row_on_attiny44a: "row-44a.yaml",
    shelf_on_attiny85: "shelf-85.yaml",
    sign_on_attiny2313a: "sign-2313a.yaml",
    signal_box_on_attiny84a: "signal-box-84a.yaml",
    slip_on_attiny4313: "slip-4313.yaml",
    steps_on_atmega328p: "steps-328p.yaml",
    stile_on_attiny13a: "stile-13a.yaml",
    street_on_attiny85: "street-85.yaml",
    terrace_on_attiny2313a: "terrace-2313a.yaml",
    toll_on_attiny2313a: "toll-2313a.yaml",
    vespers_on_attiny4313: "vespers-4313.yaml",
    weir_on_attiny4313: "weir-4313.yaml",
    well_on_attiny2313a: "well-2313a.yaml",
    wharf_on_attiny4313: "wharf-4313.yaml",
    windows_on_attiny2313a: "windows-2313a.yaml",
}

#[test]
fn every_project_has_a_test() {
    let listed: BTreeSet<String> = FILES.iter().map(|name| (*name).to_string()).collect();
    let there: BTreeSet<String> = std::fs::read_dir(folder("tests/verify/projects"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(listed, there);
}

/// Together they use every operation of the player, every form of the brightness table that the
/// compiler picks for a curve, both kinds of lamps, and every part of the main program.
#[test]
fn together_they_use_every_feature() {
    let designs: Vec<_> = FILES
        .iter()
        .map(|file| design_of(folder("tests/verify/projects").join(file)))
        .collect();
    let formats: Vec<_> = designs.iter().map(|d| d.deck.image.format).collect();
    let runs = || {
        designs
            .iter()
            .flat_map(|d| d.deck.image.starts.iter().flatten())
    };
    let uses = [
        ("long ticks", formats.iter().any(|f| f.long_ticks)),
        ("short ticks", formats.iter().any(|f| !f.long_ticks)),
        ("long addresses", formats.iter().any(|f| f.long_addresses)),
        ("short addresses", formats.iter().any(|f| !f.long_addresses)),
        ("fractions", formats.iter().any(|f| f.fractions)),
        ("jump", formats.iter().any(|f| f.jump)),
        ("random", formats.iter().any(|f| f.random)),
        ("keep", formats.iter().any(|f| f.keep)),
        ("wait", formats.iter().any(|f| f.wait)),
        ("nested repeats", formats.iter().any(|f| f.slots > 1)),
        ("steps back", runs().any(|run| run.step.0 < 0)),
        ("branch", formats.iter().any(|f| f.branch)),
        ("jumps ahead", formats.iter().any(|f| f.goto)),
        ("streams", formats.iter().any(|f| f.streams)),
        (
            "common draws",
            formats.iter().any(|f| f.random && !f.streams),
        ),
        (
            "head starts",
            formats
                .iter()
                .any(|f| f.start.ahead > 0 || f.start.step > 0),
        ),
        ("runs", formats.iter().any(|f| !f.start.uniform)),
        ("one run", formats.iter().any(|f| f.start.uniform)),
        ("roam", designs.iter().any(|d| d.firmware.rules.roams())),
        ("holds", designs.iter().any(|d| d.firmware.rules.holds())),
        (
            "no button",
            designs.iter().any(|d| !d.firmware.rules.taps()),
        ),
        (
            "evenings",
            designs.iter().any(|d| d.firmware.evening.is_some()),
        ),
        ("fade", designs.iter().any(|d| d.firmware.fade.is_some())),
        (
            "trims",
            designs
                .iter()
                .any(|d| d.deck.trims.iter().any(|t| t.0.is_some())),
        ),
        ("lamps in memory", designs.iter().any(|d| !in_registers(d))),
        ("lamps in registers", designs.iter().any(in_registers)),
        (
            "plain",
            designs.iter().any(|d| d.deck.plain.contains(&true)),
        ),
        (
            "pump",
            designs.iter().any(|d| d.plan.drive.pump().is_some()),
        ),
        (
            "no memory",
            designs.iter().any(|d| d.firmware.memory.is_none()),
        ),
        (
            "forgetting",
            designs
                .iter()
                .any(|d| d.firmware.memory.as_ref().is_some_and(|m| m.forgets())),
        ),
        (
            "no watchdog",
            designs.iter().any(|d| d.plan.watchdog.is_none()),
        ),
        (
            "part ticks",
            designs.iter().any(|d| d.plan.tick.fraction > 0),
        ),
    ];
    let missing: Vec<_> = uses
        .iter()
        .filter(|(_, used)| !used)
        .map(|(what, _)| what)
        .collect();
    assert!(missing.is_empty(), "nothing uses {missing:?}");
}
