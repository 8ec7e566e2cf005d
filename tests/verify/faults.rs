//! A firmware that is not the model's is found out: each kind of difference by the check that is
//! there for it.

use duskloom::design::Design;
use duskloom::verify::bench::{Setup, Start};
use duskloom::verify::{
    Check, Failure, Firmware, LightFault, Outcome, PatternEvidence, behaviour, compile, pattern,
    pump, timing,
};

use crate::verify::support::altered;

const DIORAMA: &str = "diorama-2313a.yaml";

/// The firmware of one project against the model of another, for a few seconds of a scene.
fn play(model: &[(&str, &str)], chip: &[(&str, &str)]) -> PatternEvidence {
    let model = altered(DIORAMA, model);
    let firmware = compile(&altered(DIORAMA, chip)).unwrap();
    let setup = Setup::new(&model, firmware).unwrap();
    first_scene(&setup)
}

fn first_scene(setup: &Setup) -> PatternEvidence {
    let start = Start {
        scene: Some(0),
        ..Start::default()
    };
    pattern::play(setup, &start, 3.0).unwrap()
}

/// The firmware of the diorama with one instruction replaced by another wherever it stands.
fn patched(from: u16, to: u16) -> Firmware {
    patched_of(&altered(DIORAMA, &[]), from, to)
}

fn patched_of(design: &Design, from: u16, to: u16) -> Firmware {
    let mut firmware = compile(design).unwrap();
    let mut found = 0;
    for word in firmware.flash.chunks_exact_mut(2) {
        if word == from.to_le_bytes() {
            word.copy_from_slice(&to.to_le_bytes());
            found += 1;
        }
    }
    assert!(found > 0, "the firmware has no {from:#06x}");
    firmware
}

fn outcome<'a>(checks: &'a [Check], claim: &str) -> &'a Outcome {
    let check = checks.iter().find(|check| check.claim.contains(claim));
    &check.expect("a check of that name").outcome
}

const NOP: u16 = 0x0000;

#[test_with::executable("avr-gcc")]
#[test]
fn another_duration_is_a_difference_at_a_tick() {
    let evidence = play(&[], &[("over: 2 s", "over: 1.9 s")]);
    let Some(Failure::Duty {
        tick, model, chip, ..
    }) = evidence.failure
    else {
        panic!("{evidence}");
    };
    assert!(tick > 0 && chip > model, "{evidence}");
    assert!(!evidence.holds());
}

#[test_with::executable("avr-gcc")]
#[test]
fn another_curve_is_a_difference() {
    let evidence = play(&[], &[("ceiling: 90 %", "ceiling: 91 %")]);
    assert!(
        matches!(evidence.failure, Some(Failure::Duty { .. })),
        "{evidence}"
    );
}

/// Without `andi r16, 15` (0x700F) hardly any period leads: right duties, wrong light.
#[test_with::executable("avr-gcc")]
#[test]
fn light_without_its_fraction_is_found_at_the_pin() {
    let design = altered(DIORAMA, &[]);
    let setup = Setup::new(&design, patched(0x700F, NOP)).unwrap();
    let evidence = first_scene(&setup);
    assert!(
        matches!(
            evidence.failure,
            Some(Failure::Light {
                fault: LightFault::Sum { .. },
                ..
            })
        ),
        "{evidence}"
    );
}

/// Without `sleep` (0x9588) it does not sleep, and without `wdr` (0x95A8) the watchdog bites.
#[test_with::executable("avr-gcc")]
#[test]
fn a_watchdog_that_is_not_fed_is_a_restart() {
    let design = altered(DIORAMA, &[]);
    let setup = Setup::new(&design, patched(0x95A8, NOP)).unwrap();
    let evidence = first_scene(&setup);
    assert!(
        matches!(evidence.failure, Some(Failure::Restart { .. })),
        "{evidence}"
    );
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_pump_at_another_pace_is_seen() {
    let design = altered(DIORAMA, &[]);
    let other = altered(DIORAMA, &[("[PD0, PD1]", "[PD0, PD1], clock: 4 kHz")]);
    let setup = Setup::new(&design, compile(&other).unwrap()).unwrap();
    let evidence = pump::measure(&setup, 0.5).unwrap().unwrap();
    assert!(!evidence.holds(), "{evidence}");
    assert!((evidence.clock.0 - 3906.25).abs() < 1.0, "{evidence}");
}

#[test_with::executable("avr-gcc")]
#[test]
fn ticks_at_another_pace_are_seen() {
    let design = altered(DIORAMA, &[]);
    let other = altered(DIORAMA, &[("charge_pump", "tick: 4.9 ms\ncharge_pump")]);
    let mut firmware = compile(&design).unwrap();
    let slow = Setup::new(&other, firmware.clone()).unwrap();
    let evidence = timing::measure(&slow, 3.0).unwrap();
    assert!(!evidence.holds(), "{evidence}");
    // As it is, nothing is wrong.
    firmware = compile(&design).unwrap();
    let right = Setup::new(&design, firmware).unwrap();
    assert!(timing::measure(&right, 3.0).unwrap().holds());
}

#[test_with::executable("avr-gcc")]
#[test]
fn what_the_button_and_the_memory_do_otherwise_is_found() {
    let design = altered(DIORAMA, &[]);
    let other = altered(
        DIORAMA,
        &[
            ("{pin: PD2}", "{pin: PD2, debounce: 5 ms, hold: 1200 ms}"),
            ("memory: {after: 3 s}", "memory: {after: 2 s}"),
            ("dwell: 2 s .. 5 s", "dwell: 2 s .. 2500 ms"),
        ],
    );
    let setup = Setup::new(&design, compile(&other).unwrap()).unwrap();
    let checks = behaviour::check(&setup).unwrap();
    for claim in [
        "a hold goes",
        "shorter than debounce does",
        "roam",
        "survive a power cut",
    ] {
        let outcome = outcome(&checks, claim);
        assert!(matches!(outcome, Outcome::Fails(_)), "{claim}: {outcome:?}");
    }
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_watchdog_that_is_off_restarts_nothing() {
    let design = altered(DIORAMA, &[]);
    let other = altered(DIORAMA, &[("watchdog: 250 ms", "watchdog: off")]);
    let setup = Setup::new(&design, compile(&other).unwrap()).unwrap();
    let checks = behaviour::check(&setup).unwrap();
    let outcome = outcome(&checks, "the watchdog restarts");
    assert!(matches!(outcome, Outcome::Fails(_)), "{outcome:?}");
}

/// What a claim comes to when one instruction of a project's firmware is missing.
fn without(design: &Design, instruction: u16, claim: &str) -> Outcome {
    let firmware = patched_of(design, instruction, NOP);
    let setup = Setup::new(design, firmware).unwrap();
    let place = behaviour::claims()
        .position(|known| known.contains(claim))
        .expect("a claim of that name");
    behaviour::check_one(&setup, place).unwrap().outcome
}

/// `out TCNT1H, r1` (0xBC1D): the high byte that a boot loader left keeps strings dark or lit.
#[test]
fn a_high_byte_that_was_left_is_found() {
    let outcome = without(&altered(DIORAMA, &[]), 0xBC1D, "boot loader");
    assert!(matches!(outcome, Outcome::Fails(_)), "{outcome:?}");
}

/// `out TCNT0, r1` (0xBE12): the timers are not in phase.
#[test]
fn a_count_that_was_left_is_found() {
    let outcome = without(&altered(DIORAMA, &[]), 0xBE12, "boot loader");
    assert!(matches!(outcome, Outcome::Fails(_)), "{outcome:?}");
}

/// `out TIMSK1, r1` (0xB81C) of an ATtiny84A, which has a mask of interrupts for each timer.
#[test]
fn an_interrupt_that_was_left_on_is_found() {
    let design = altered("signal-box-84a.yaml", &[]);
    let outcome = without(&design, 0xB81C, "boot loader");
    assert!(matches!(outcome, Outcome::Fails(_)), "{outcome:?}");
}

/// `out MCUSR, r1` (0xBE14): a watchdog that has reset the chip cannot be turned off.
#[test]
fn a_watchdog_that_stays_on_is_found() {
    let design = altered(DIORAMA, &[("watchdog: 250 ms", "watchdog: off")]);
    let outcome = without(&design, 0xBE14, "every reset");
    assert!(matches!(outcome, Outcome::Fails(_)), "{outcome:?}");
}
