//! What reaches the pins, for each waveform mode.

use duskloom::verify::machine::{Level, Machine, Moment};

use crate::machine::support::{PERIODS, period, pin, running};

/// 'Fast PWM Mode': an OCR0A of BOTTOM makes a spike of one clock, of MAX a constant level.
#[test_with::executable("avr-gcc")]
#[test]
fn fast_pwm_puts_out_one_count_more_than_its_compare_value() {
    for (ocr, high) in [(0, 1), (1, 2), (100, 101), (254, 255), (255, 256)] {
        let setup = format!("DDRB = 4; OCR0A = {ocr}; TCCR0A = 0x83; TCCR0B = 1");
        assert_eq!(
            period(&mut running("attiny2313a", &setup, ""), "PB2"),
            (256, high),
            "{ocr}"
        );
    }
}

/// 'Fast PWM Mode', inverting: what is left; MAX is exactly dark.
#[test_with::executable("avr-gcc")]
#[test]
fn inverting_fast_pwm_is_dark_at_the_top() {
    for (ocr, high) in [(0, 255), (100, 155), (254, 1), (255, 0)] {
        let setup = format!("DDRB = 4; OCR0A = {ocr}; TCCR0A = 0xC3; TCCR0B = 1");
        assert_eq!(
            period(&mut running("attiny2313a", &setup, ""), "PB2"),
            (256, high),
            "{ocr}"
        );
    }
}

/// 'Phase Correct PWM Mode': f = clk / (N * 510).
#[test_with::executable("avr-gcc")]
#[test]
fn phase_correct_pwm_has_a_period_of_510_clocks() {
    for (ocr, high) in [(0, 0), (1, 2), (100, 200), (254, 508), (255, 510)] {
        let setup = format!("DDRB = 4; OCR0A = {ocr}; TCCR0A = 0x81; TCCR0B = 1");
        assert_eq!(
            period(&mut running("attiny2313a", &setup, ""), "PB2"),
            (510, high),
            "{ocr}"
        );
        let setup = format!("DDRB = 8; OCR1A = {ocr}; TCCR1A = 0x81; TCCR1B = 1");
        assert_eq!(
            period(&mut running("attiny2313a", &setup, ""), "PB3"),
            (510, high),
            "{ocr}"
        );
    }
}

/// Table 'Waveform Generation Mode', mode 7: fast PWM with TOP = OCRA.
#[test_with::executable("avr-gcc")]
#[test]
fn fast_pwm_can_take_its_top_from_channel_a() {
    let setup = "DDRD = 0x20; OCR0A = 99; OCR0B = 24; TCCR0A = 0x23; TCCR0B = 9";
    assert_eq!(
        period(&mut running("attiny2313a", setup, ""), "PD5"),
        (100, 25)
    );
}

/// Modes 14 (fast, TOP = ICR1), 8 (phase and frequency correct, TOP = ICR1) and 10 (phase correct,
/// TOP = ICR1) of the 16-bit timer, and a prescaler of 8.
#[test_with::executable("avr-gcc")]
#[test]
fn the_16_bit_timer_can_take_its_top_from_icr1() {
    let fast = "DDRB = 2; ICR1 = 999; OCR1A = 249; TCCR1A = 0x82; TCCR1B = 0x1A";
    assert_eq!(
        period(&mut running("atmega328p", fast, ""), "PB1"),
        (8000, 2000)
    );
    for shape in [
        "TCCR1A = 0x80; TCCR1B = 0x11",
        "TCCR1A = 0x82; TCCR1B = 0x11",
    ] {
        let setup = format!("DDRB = 2; ICR1 = 1000; OCR1A = 250; {shape}");
        assert_eq!(
            period(&mut running("atmega328p", &setup, ""), "PB1"),
            (2000, 500),
            "{shape}"
        );
    }
}

/// 'Compare Match Output Unit': each channel has COM bits of its own.
#[test_with::executable("avr-gcc")]
#[test]
fn channel_b_takes_its_mode_from_its_own_bits() {
    let setup = "DDRB = 0x18; OCR1A = 10; OCR1B = 20; TCCR1A = 0x21; TCCR1B = 9";
    let mut machine = running("attiny2313a", setup, "");
    machine.watch(pin("PB3"), PERIODS);
    assert_eq!(period(&mut machine, "PB4"), (256, 21));
    assert_eq!(
        machine.high_cycles(pin("PB3")),
        0,
        "channel A is not connected"
    );
}

/// Timer 2 of the megas, with its own prescaler table: CS22:0 = 3 divides by 32.
#[test_with::executable("avr-gcc")]
#[test]
fn timer_2_divides_by_its_own_table() {
    let setup = "DDRB = 8; OCR2A = 63; TCCR2A = 0x83; TCCR2B = 3";
    assert_eq!(
        period(&mut running("atmega88", setup, ""), "PB3"),
        (8192, 2048)
    );
}

/// ATtiny25/45/85, 'Timer/Counter1 in PWM Mode': TOP is OCR1C, COM1A1:0 = 1 drives both outputs,
/// and a compare value of 0 is dark (table 'PWM Outputs OCR1x = $00 or OCR1C').
#[test_with::executable("avr-gcc")]
#[test]
fn the_high_speed_timer_takes_its_top_from_ocr1c() {
    for (ocr, high) in [(0, 0), (49, 50), (199, 200)] {
        let setup = format!("DDRB = 3; OCR1C = 199; OCR1A = {ocr}; TCCR1 = 0x51");
        let mut machine = running("attiny85", &setup, "");
        machine.watch(pin("PB0"), PERIODS);
        assert_eq!(period(&mut machine, "PB1"), (200, high));
        let complement = machine.high_cycles(pin("PB0"));
        let both = complement + machine.high_cycles(pin("PB1"));
        assert!(
            machine.now() - Moment(both) < 200,
            "{ocr}: one of the two is always high"
        );
    }
    let setup = "DDRB = 0x10; OCR1C = 255; OCR1B = 99; GTCCR = 0x60; TCCR1 = 2";
    assert_eq!(
        period(&mut running("attiny85", setup, ""), "PB4"),
        (512, 200)
    );
}

/// 'Fast PWM Mode': 'the OCR0x buffer is copied at BOTTOM', so that a period is never mixed.
#[test_with::executable("avr-gcc")]
#[test]
fn compare_values_wait_for_bottom() {
    let setup = "DDRB = 4; OCR0A = 10; TCCR0A = 0x83; TCCR0B = 1";
    let again = "while (TCNT0 < 100); OCR0A = 200; while (TCNT0 > 50); while (TCNT0 < 150); \
                 OCR0A = 10; while (TCNT0 > 50)";
    let mut machine = running("attiny2313a", setup, again);
    machine.watch(pin("PB2"), PERIODS);
    machine.run_for(256 * 40).unwrap();
    let highs: Vec<u32> = machine
        .take_periods()
        .iter()
        .skip(2)
        .map(|p| p.high)
        .collect();
    assert!(
        highs.iter().all(|high| [11, 201].contains(high)),
        "{highs:?}"
    );
    assert!(
        highs.windows(2).all(|w| w[0] != w[1]),
        "they alternate: {highs:?}"
    );
}

/// 'Compare Match Output Unit': the output overrides the port's latch and leaves it alone; the
/// direction still rules.
#[test_with::executable("avr-gcc")]
#[test]
fn a_compare_output_leaves_the_latch_alone() {
    let setup = "PORTB = 4; OCR0A = 100; TCCR0A = 0x83; TCCR0B = 1";
    let mut machine = running("attiny2313a", setup, "");
    machine.run_for(10_000).unwrap();
    assert_eq!(machine.level(pin("PB2")), Level::Released, "DDR says input");
    let port = machine.address_of("PORTB").unwrap();
    assert_eq!(machine.memory(port), 4);
    assert_eq!(machine.high_cycles(pin("PB2")), 0);
}

/// 'Timer/Counter Prescalers': TSM holds the prescaler that both timers share, so that they start
/// in phase.
#[test_with::executable("avr-gcc")]
#[test]
fn timers_can_be_started_together() {
    let setup = "DDRB = 0xC; OCR0A = 9; OCR1A = 9; TCCR0A = 0x83; TCCR1A = 0x81; \
                 GTCCR = 0x81; TCCR0B = 2; TCCR1B = 0xA; GTCCR = 0";
    let mut machine = running("attiny2313a", setup, "");
    ["PB2", "PB3"]
        .iter()
        .for_each(|name| machine.watch(pin(name), PERIODS));
    machine.run_for(20_000).unwrap();
    let periods = machine.take_periods();
    let starts = |name: &str| -> Vec<Moment> {
        periods
            .iter()
            .filter(|p| p.pin == pin(name))
            .skip(1)
            .map(|p| p.start)
            .collect()
    };
    assert!(starts("PB2").len() > 5);
    assert_eq!(starts("PB2"), starts("PB3"));
    assert!(machine.doubts().is_empty());
}

/// 'Power Reduction Register': PRTIM0 stops timer 0.
#[test_with::executable("avr-gcc")]
#[test]
fn a_timer_can_be_switched_off() {
    let setup = "TCCR0A = 3; TCCR0B = 1; PRR = 1 << PRTIM0; GPIOR0 = TCNT0; _delay_loop_1(9); \
                 GPIOR1 = TCNT0";
    let mut machine = running("atmega328p", setup, "");
    machine.run_for(1_000).unwrap();
    let count = |machine: &mut Machine, name| {
        let address = machine.address_of(name).unwrap();
        machine.memory(address)
    };
    let before = count(&mut machine, "GPIOR0");
    assert!((1..10).contains(&before));
    assert_eq!(before, count(&mut machine, "GPIOR1"));
}

/// ATmega16U4/32U4: three channels on timer 1, one on timer 3, PB7 shared by OC0A and OC1C.
#[test_with::executable("avr-gcc")]
#[test]
fn the_32u4_has_its_outputs() {
    let timer_1 = "DDRB = 0x80; OCR1C = 99; TCCR1A = 0x09; TCCR1B = 9";
    assert_eq!(
        period(&mut running("atmega32u4", timer_1, ""), "PB7"),
        (256, 100)
    );
    let timer_0 = "DDRB = 0x80; OCR0A = 49; TCCR0A = 0x83; TCCR0B = 1";
    assert_eq!(
        period(&mut running("atmega32u4", timer_0, ""), "PB7"),
        (256, 50)
    );
    let timer_3 = "DDRC = 0x40; OCR3A = 9; TCCR3A = 0x81; TCCR3B = 9";
    assert_eq!(
        period(&mut running("atmega32u4", timer_3, ""), "PC6"),
        (256, 10)
    );
}

/// 'Timer/Counter0 Interrupt Flag Register' and 'Reading the Pin Value': what nobody is told of is
/// there for those who ask, at any moment of a period.
#[test]
fn flags_and_levels_can_be_polled_within_a_period() {
    let again = "while (!(TIFR & 1 << OCF0A)); TIFR = 1 << OCF0A; GPIOR0++; \
                 GPIOR1 += !!(PINB & 4); _delay_loop_1(60); GPIOR2 += !!(PINB & 4)";
    let setup = "DDRB = 4; OCR0A = 119; TCCR0A = 0x83; TCCR0B = 1";
    let mut machine = running("attiny2313a", setup, again);
    machine.run_for(256 * 100).unwrap();
    let [periods, after_match, after_bottom] = [0x33, 0x34, 0x35].map(|a| machine.memory(a));
    assert!(
        (99..=100).contains(&periods),
        "one match a period: {periods}"
    );
    assert_eq!(after_match, 0, "low after the match");
    assert!(periods - after_bottom <= 1, "high again after BOTTOM");
}
