//! Interrupts and sleep.

use crate::machine::support::{machine, running, with_globals};

/// 'Interrupt Response Time': four cycles at least; eight out of idle sleep.
#[test_with::executable("avr-gcc")]
#[test]
fn entering_an_interrupt_takes_its_cycles() {
    let mut awake = machine("latency.S", "attiny2313a", &["-nostartfiles"]);
    let mut asleep = machine("latency.S", "attiny2313a", &["-nostartfiles", "-DSLEEPING"]);
    for _ in 0..50 {
        let in_sleep = asleep.run_to(14, asleep.now() + 1000).unwrap();
        assert!(
            in_sleep,
            "the second instruction of the interrupt is reached"
        );
        assert_eq!(asleep.register(20), 8);
        assert!(awake.run_to(14, awake.now() + 1000).unwrap());
        let waited = awake.register(20) - 4;
        assert!(
            waited < 2,
            "the instruction at hand, of two cycles at most, ends first: {waited}"
        );
    }
    let meters = asleep.meters();
    assert_eq!(meters.interrupts[&6].longest, 4 + 1 + 4);
    assert_eq!(meters.waking, 4 * 50);
}

/// 'Timer/Counter0': in fast PWM with TOP 0xFF the overflow comes every 256 clocks.
#[test_with::executable("avr-gcc")]
#[test]
fn the_overflow_comes_every_256_clocks() {
    let mut machine = machine("latency.S", "attiny2313a", &["-nostartfiles", "-DSLEEPING"]);
    machine.run_for(256 * 1000).unwrap();
    let meters = machine.meters();
    assert_eq!(meters.interrupts[&6].served, 999);
    assert_eq!(meters.interrupts[&6].missed, 0);
}

/// 'Interrupt handling': the instruction after SEI, and one after RETI, runs before the next
/// interrupt.
#[test_with::executable("avr-gcc")]
#[test]
fn one_instruction_runs_between_interrupts() {
    // The flag is always up: a compare match each clock (CTC with TOP 0).
    let globals = "EMPTY_INTERRUPT(TIMER0_COMPA_vect)";
    let setup = "TCCR0A = 2; TCCR0B = 1; TIMSK = 1; \
                 asm volatile(\"sei\\n inc r2\\n inc r2\\n inc r2\\n cli\")";
    let mut machine = with_globals("attiny2313a", globals, setup, "");
    machine.run_for(20_000).unwrap();
    // After SEI, and after each RETI, one INC: three interrupts follow them, and CLI ends it.
    assert_eq!(machine.meters().interrupts[&13].served, 3);
}

/// 'Sleep Mode Control Register': without SE, SLEEP does nothing.
#[test_with::executable("avr-gcc")]
#[test]
fn sleep_needs_its_enable_bit() {
    let mut awake = running("attiny2313a", "GPIOR0 = 0", "sleep_cpu(); GPIOR0++");
    awake.run_for(5_000).unwrap();
    let count = awake.address_of("PORTA").map(|_| awake.memory(0x33));
    assert_ne!(count, Some(0));
    assert_eq!(awake.meters().asleep, 0);

    let mut asleep = running(
        "attiny2313a",
        "MCUCR = 1 << SE; sei()",
        "sleep_cpu(); GPIOR0++",
    );
    asleep.run_for(8_000_000_000).unwrap();
    assert!(
        asleep.meters().asleep > 7_999_999_000,
        "a quarter of an hour, asleep"
    );
    assert_eq!(asleep.memory(0x33), 0);
}

#[test_with::executable("avr-gcc")]
#[test]
fn a_lost_overflow_is_noticed() {
    let globals = "ISR(TIMER0_OVF_vect) { }";
    let setup = "TCCR0A = 3; TCCR0B = 1; TIMSK = 1 << TOIE0; sei()";
    let again = "cli(); _delay_loop_1(250); sei(); _delay_loop_1(250)";
    let mut machine = with_globals("attiny2313a", globals, setup, again);
    machine.run_for(100_000).unwrap();
    let meter = machine.meters().interrupts[&6];
    assert!(meter.missed > 0 && meter.latest > 256, "{meter:?}");
}
