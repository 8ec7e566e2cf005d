//! Ports, buttons and toggled pins.

use duskloom::verify::machine::{Machine, Moment, Watch};

use crate::machine::support::{pin, running, with_globals};

#[test_with::executable("avr-gcc")]
#[test]
fn a_held_button_stays_down_while_the_port_is_written() {
    let setup = "PORTD = 1 << 2";
    let again = "PORTD |= 1 << 2; PORTD ^= 1; GPIOR0 = PIND";
    let mut machine = running("attiny2313a", setup, again);
    let pressed = |machine: &mut Machine| {
        machine.run_for(1_000).unwrap();
        machine.memory(0x33) & 4 == 0
    };
    assert!(!pressed(&mut machine), "the pull-up");
    machine.drive(pin("PD2"), Some(false));
    assert!(pressed(&mut machine));
    assert!(pressed(&mut machine));
    machine.drive(pin("PD2"), None);
    assert!(!pressed(&mut machine));
}

/// 'Toggling the Pin': writing ones to PIN toggles; SBI does so to its pin alone.
#[test_with::executable("avr-gcc")]
#[test]
fn writing_pin_toggles() {
    let setup = "DDRD = 3; PORTD = 1";
    let mut machine = running(
        "attiny2313a",
        setup,
        "PIND = 3; _delay_loop_1(10); PIND |= 1 << 0",
    );
    for name in ["PD0", "PD1"] {
        machine.watch(
            pin(name),
            Watch {
                edges: true,
                periods: false,
            },
        );
    }
    machine.run_for(10_000).unwrap();
    let edges = machine.take_edges();
    let at = |name: &str| -> Vec<Moment> {
        edges
            .iter()
            .filter(|e| e.pin == pin(name))
            .map(|e| e.at)
            .collect()
    };
    let (first, second) = (at("PD0"), at("PD1"));
    assert!(first.len() > 100);
    assert!(
        first.len().abs_diff(2 * second.len()) <= 2,
        "{} {}",
        first.len(),
        second.len()
    );
    assert!(
        second.iter().skip(1).all(|at| first.contains(at)),
        "both toggle in the same clock"
    );
}

/// 'External Interrupts': INT0 on a falling edge, pin change on any.
#[test_with::executable("avr-gcc")]
#[test]
fn pins_can_interrupt() {
    let globals = "ISR(INT0_vect) { GPIOR0++; } ISR(PCINT0_vect) { GPIOR1++; }";
    let setup = "PORTD = 4; PORTB = 1; MCUCR = 2; GIMSK = 1 << INT0 | 1 << PCIE0; PCMSK = 1; sei()";
    let mut machine = with_globals("attiny2313a", globals, setup, "");
    machine.run_for(500).unwrap();
    let (falling, changes) = (machine.memory(0x33), machine.memory(0x34));
    for level in [Some(false), None, Some(false)] {
        machine.drive(pin("PD2"), level);
        machine.drive(pin("PB0"), level);
        machine.run_for(500).unwrap();
    }
    let counted = (
        machine.memory(0x33) - falling,
        machine.memory(0x34) - changes,
    );
    assert_eq!(counted, (2, 3));
}

/// As above, on a pin that a timer drives, and nobody writes to the port: two changes a period.
#[test]
fn a_compare_output_can_interrupt() {
    let globals = "ISR(PCINT0_vect) { GPIOR1++; }";
    let setup = "DDRB = 4; OCR0A = 99; TCCR0A = 0x83; TCCR0B = 1; \
                 PCMSK = 4; GIFR = 1 << PCIF0; GIMSK = 1 << PCIE0; sei()";
    let mut machine = with_globals("attiny2313a", globals, setup, "");
    machine.run_for(1_000).unwrap();
    let before = machine.memory(0x34);
    machine.run_for(256 * 100).unwrap();
    assert_eq!(machine.memory(0x34) - before, 200);
}
