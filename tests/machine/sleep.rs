//! Power-down: what stops, and what wakes. Sections are those of the ATtiny and ATmega datasheets, 'Power
//! Management and Sleep Modes' and 'External Interrupts'.

use duskloom::verify::machine::{Fault, Machine};

use crate::machine::support::{pin, running, with_globals};

const WOKEN: &str = "ISR(INT0_vect) { GIMSK = 0; GPIOR0 = 1; } \
                     ISR(PCINT0_vect) { GIMSK = 0; GPIOR0 = 2; } \
                     ISR(TIMER0_OVF_vect) { GPIOR1++; }";

const SECOND: u64 = 8_000_000;

fn read(machine: &mut Machine, register: &str) -> u8 {
    let address = machine.address_of(register).unwrap();
    machine.memory(address)
}

/// A timer runs, then the chip powers down with these interrupts let through.
fn asleep(mcu: &str, sleep: &str, wake: &str) -> Machine {
    let setup = format!(
        "PORTB = 0xFF; TIMSK = 1 << TOIE0; TCCR0B = 1; {wake}; MCUCR = 1 << SE | {sleep}; sei()"
    );
    with_globals(mcu, WOKEN, &setup, "sleep_cpu()")
}

#[test_with::executable("avr-gcc")]
#[test]
fn timers_stand_still_and_go_on_where_they_were() {
    let mut machine = asleep("attiny85", "1 << SM1", "PCMSK = 1; GIMSK = 1 << PCIE");
    machine.run_for(2_000).unwrap();
    assert!(machine.is_powered_down());
    let count = |machine: &mut Machine| (read(machine, "TCNT0"), read(machine, "GPIOR1"));
    let before = count(&mut machine);
    machine.run_for(3 * SECOND).unwrap();
    assert_eq!(count(&mut machine), before, "after three seconds");
    machine.drive(pin("PB0"), Some(false));
    machine.run_for(100).unwrap();
    assert_eq!(read(&mut machine, "GPIOR0"), 2, "a pin change wakes");
    assert!(machine.is_powered_down(), "and it sleeps again");
    let (counted, overflows) = count(&mut machine);
    let passed = i32::from(counted) - i32::from(before.0) + 256 * i32::from(overflows - before.1);
    assert!((20..90).contains(&passed), "awake for {passed} cycles");
    let slept = machine.meters().powered_down;
    assert!((3 * SECOND..3 * SECOND + 3_000).contains(&slept), "{slept}");
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_level_wakes_and_an_edge_does_not() {
    for (sense, wakes) in [("0", true), ("1 << ISC01", false)] {
        let wake = format!("PORTD = 0xFF; MCUCR = {sense}; GIMSK = 1 << INT0");
        let sleep = format!("1 << SM1 | 1 << SM0 | {sense}");
        let mut machine = asleep("attiny2313a", &sleep, &wake);
        machine.run_for(2_000).unwrap();
        assert!(machine.is_powered_down());
        machine.drive(pin("PD2"), Some(false));
        machine.run_for(100).unwrap();
        let woken = read(&mut machine, "GPIOR0") == 1;
        assert_eq!(woken, wakes, "with ISC = {sense}");
    }
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_byte_that_is_being_programmed_keeps_it_awake() {
    let write = "EEDR = 1; EECR = 1 << EEMPE; EECR |= 1 << EEPE";
    let mut machine = running(
        "attiny85",
        &format!("{write}; MCUCR = 1 << SE | 1 << SM1; sei()"),
        "sleep_cpu()",
    );
    let fault = machine.run_for(5_000);
    assert!(matches!(fault, Err(Fault::SleepWhileProgramming { .. })));
}
