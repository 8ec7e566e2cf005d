//! What the machine refuses or doubts.

use std::path::Path;

use duskloom::verify::machine::{Doubt, Fault, LoadError, Machine, Silicon, SiliconError};

use crate::machine::support::{CLOCK, build, running};

#[test_with::executable("avr-gcc")]
#[test]
fn a_sleep_that_is_not_modelled_is_refused() {
    let mut machine = running(
        "attiny2313a",
        "MCUCR = 1 << SE | 1 << SM1; sei()",
        "sleep_cpu()",
    );
    assert!(matches!(
        machine.run_for(5_000),
        Err(Fault::SleepMode { .. })
    ));
}

#[test_with::executable("avr-gcc")]
#[test]
fn holding_an_undivided_timer_is_doubtful() {
    let setup = "TCCR0A = 3; GTCCR = 0x81; TCCR0B = 1; GTCCR = 0";
    let mut machine = running("attiny2313a", setup, "");
    machine.run_for(1_000).unwrap();
    assert_eq!(machine.doubts()[0].doubt, Doubt::UndividedTimerHeld);
}

#[test_with::executable("avr-gcc")]
#[test]
fn what_is_not_modelled_is_reported() {
    let cases = [
        ("USICR = 1 << USIWM0", "USICR, whose peripheral"),
        (
            "ADMUX = 1 << REFS1; ADCSRA = 1 << ADEN",
            "another reference",
        ),
        ("ADCSRA = 1 << ADEN | 1 << ADIE", "interrupt"),
        ("ADCSRB = 1 << ADTS0; ADCSRA = 1 << ADEN", "trigger"),
    ];
    for (code, told) in cases {
        let mut machine = running("attiny85", code, "");
        machine.run_for(1_000).unwrap();
        let doubts: Vec<String> = machine
            .doubts()
            .iter()
            .map(|one| one.doubt.to_string())
            .collect();
        assert!(
            doubts.len() == 1 && doubts[0].contains(told),
            "{code}: {doubts:?}"
        );
    }
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_firmware_that_runs_off_is_a_fault() {
    let mut machine = running("attiny2313a", "*(volatile unsigned char *)0x900 = 1", "");
    assert!(matches!(machine.run_for(1_000), Err(Fault::Crash { .. })));
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_machine_is_refused_with_its_reason() {
    let built = build("latency.S", "attiny2313a", &["-nostartfiles"]);
    let load = |mcu: &str| Machine::load(&built.elf, mcu, CLOCK).err().unwrap();
    assert_eq!(
        load("attiny2323"),
        LoadError::Silicon(SiliconError::Unknown("attiny2323".to_string()))
    );
    let other = LoadError::OtherInstructionSet {
        built_for: 25,
        part: "atmega328p".to_string(),
    };
    assert_eq!(load("atmega328p"), other);
    let text = Path::new(env!("CARGO_MANIFEST_DIR")).join("Cargo.toml");
    let error = Machine::load(&text, "attiny85", CLOCK)
        .err()
        .unwrap()
        .to_string();
    assert!(error.contains("Cargo.toml as AVR firmware"), "{error}");
}

/// Every part of the table has a header that names all its registers.
#[test_with::executable("avr-gcc")]
#[test]
fn every_part_can_be_looked_up() {
    for name in Silicon::names() {
        Silicon::named(name).unwrap_or_else(|error| panic!("{name}: {error}"));
    }
}
