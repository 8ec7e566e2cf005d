//! The simulated chip behaves as the datasheets say, also where the simulator it borrows its
//! processor from does not.
//!
//! Sources: Microchip's datasheets ATtiny2313A/4313 (8246B), ATtiny24A/44A/84A (8183F),
//! ATtiny25/45/85 (2586Q), ATmega48A/PA/88A/PA/168A/PA/328/P (DS40002061A); section titles are given
//! at each test, from memory.

#![cfg(feature = "simulator")]

use std::path::{Path, PathBuf};
use std::process::Command;

use duskloom::units::Hertz;
use duskloom::verify::Firmware;
use duskloom::verify::machine::{
    Doubt, Fault, Level, LoadError, Machine, Moment, Part, PartError, Period, Pin, PowerUpMemory,
    ResetCause, Torn, Watch,
};

const CLOCK: Hertz = Hertz(8e6);

/// A fixture compiled for a part, in a folder that goes away with it.
struct Built {
    _folder: tempfile::TempDir,
    elf: PathBuf,
}

fn build(fixture: &str, mcu: &str, options: &[&str]) -> Built {
    let folder = tempfile::tempdir().unwrap();
    let elf = folder.path().join("fixture.elf");
    let source = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/machine")
        .join(fixture);
    let result = Command::new("avr-gcc")
        .arg(format!("-mmcu={mcu}"))
        .args(["-Os", "-Wall", "-Werror", "-DF_CPU=8000000UL"])
        .args(options)
        .arg(&source)
        .arg("-o")
        .arg(&elf)
        .output()
        .expect("avr-gcc (Debian package gcc-avr) runs");
    assert!(
        result.status.success(),
        "{}",
        String::from_utf8_lossy(&result.stderr)
    );
    Built {
        _folder: folder,
        elf,
    }
}

fn machine(fixture: &str, mcu: &str, options: &[&str]) -> Machine {
    let built = build(fixture, mcu, options);
    Machine::load(&built.elf, mcu, CLOCK).unwrap()
}

fn pin(name: &str) -> Pin {
    name.parse().unwrap()
}

const PERIODS: Watch = Watch {
    edges: false,
    periods: true,
};

/// The part, the pins of its four channels (0A, 0B, 1A, 1B), the lag of timer 1 behind timer 0, and
/// cycles of the interrupt from entry to return: 4 to enter, 1 IN, 16 for four channels (1 more for
/// each STS), 1 OUT, 1 INC, 1 OUT, 4 RETI (AVR Instruction Set Manual).
const DITHERED: [(&str, [&str; 4], &str, u64); 5] = [
    (
        "attiny2313a",
        ["PB2", "PD5", "PB3", "PB4"],
        "-DSTART_LAG=1",
        28,
    ),
    (
        "attiny4313",
        ["PB2", "PD5", "PB3", "PB4"],
        "-DSTART_LAG=1",
        28,
    ),
    (
        "attiny84a",
        ["PB2", "PA7", "PA6", "PA5"],
        "-DSTART_LAG=1",
        28,
    ),
    (
        "atmega88",
        ["PD6", "PD5", "PB1", "PB2"],
        "-DSTART_LAG=2",
        30,
    ),
    (
        "atmega328p",
        ["PD6", "PD5", "PB1", "PB2"],
        "-DSTART_LAG=2",
        30,
    ),
];

#[test]
fn a_dithered_light_puts_out_exactly_what_its_accumulators_say() {
    for (mcu, pins, lag, cycles) in DITHERED {
        let mut machine = machine("dither.S", mcu, &["-nostartfiles", lag]);
        let pins = pins.map(pin);
        pins.iter().for_each(|pin| machine.watch(*pin, PERIODS));
        machine.run_for(256 * 1030).unwrap();
        let periods = machine.take_periods();
        let of = |pin: Pin| -> Vec<&Period> { periods.iter().filter(|p| p.pin == pin).collect() };

        // Past the first three periods, in which compare values are still on their way.
        let span = 3..3 + 1024;
        let light: Vec<u32> = pins
            .iter()
            .map(|pin| of(*pin)[span.clone()].iter().map(|p| p.high).sum())
            .collect();
        let counts = |sixteenths: u32| 1024 / 256 * sixteenths;
        let expected = [
            0,
            counts(64 * 256 + 128),
            counts(200 * 256 + 1),
            counts(255 * 256),
        ];
        assert_eq!(light, expected, "{mcu}");
        for pin in pins {
            let ends: Vec<Moment> = of(pin).iter().map(|p| p.start).collect();
            assert!(
                ends.windows(2).skip(1).all(|w| w[1] - w[0] == 256),
                "{mcu} {pin}"
            );
            assert_eq!(
                of(pin)[10].start,
                of(pins[0])[10].start,
                "{mcu}: timers are in phase"
            );
            assert!(
                of(pin)[3..].iter().all(|p| p.edges <= 2),
                "{mcu} {pin}: no glitch"
            );
        }
        assert!(
            of(pins[0])[3..].iter().all(|p| p.high == 0 && p.edges == 0),
            "{mcu}: dark"
        );

        let meters = machine.meters();
        let (_, overflow) = meters.interrupts.iter().next().unwrap();
        assert_eq!(
            (overflow.shortest, overflow.longest),
            (cycles, cycles),
            "{mcu}"
        );
        assert_eq!(overflow.missed, 0);
        assert!(machine.doubts().is_empty());
        assert_eq!(machine.resets().len(), 1, "the watchdog is fed");
    }
}

/// A machine that runs `setup` once and `again` for ever, in C.
fn running(mcu: &str, setup: &str, again: &str) -> Machine {
    with_globals(mcu, "", setup, again)
}

fn with_globals(mcu: &str, globals: &str, setup: &str, again: &str) -> Machine {
    let [globals, setup, again] = [
        format!("-DGLOBALS={globals}"),
        format!("-DSETUP={setup}"),
        format!("-DLOOP={again}"),
    ];
    machine("setup.c", mcu, &[&globals, &setup, &again])
}

/// `(length, high)` of the tenth period at a pin.
fn period(machine: &mut Machine, name: &str) -> (u32, u32) {
    machine.watch(pin(name), PERIODS);
    machine.run_for(200_000).unwrap();
    let periods = machine.take_periods();
    let period = periods
        .iter()
        .filter(|p| p.pin == pin(name))
        .nth(10)
        .expect("ten periods");
    (period.length, period.high)
}

/// 'Fast PWM Mode': an OCR0A of BOTTOM makes a spike of one clock, of MAX a constant level.
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

/// 'Interrupt Response Time': four cycles at least; eight out of idle sleep.
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

#[test]
fn a_deeper_sleep_than_idle_is_refused() {
    let mut machine = running(
        "attiny2313a",
        "MCUCR = 1 << SE | 1 << SM0; sei()",
        "sleep_cpu()",
    );
    assert!(matches!(
        machine.run_for(5_000),
        Err(Fault::SleepMode { .. })
    ));
}

/// Table 'EEPROM Programming Time': 3.4 ms for an erase and a write.
#[test]
fn an_eeprom_byte_takes_3_4_ms() {
    let setup = "EEARL = 7; EEDR = 0x5A; EECR = 1 << EEMPE; EECR = 1 << EEPE; \
                 while (EECR & 1 << EEPE); PORTB = 1";
    for mcu in ["attiny2313a", "attiny84a", "attiny85", "atmega328p"] {
        let mut machine = running(mcu, setup, "");
        machine
            .run_while(Moment(1_000_000), |m| m.programming().is_none())
            .unwrap();
        let started = machine.now();
        assert_eq!(machine.eeprom()[7], 0xFF);
        machine
            .run_while(Moment(1_000_000), |m| m.programming().is_some())
            .unwrap();
        let cycles = machine.now() - started;
        assert!(
            (27_190..27_210).contains(&cycles),
            "{mcu}: {cycles} cycles at 8 MHz"
        );
        assert_eq!((machine.eeprom()[7], machine.eeprom_wear()[7]), (0x5A, 1));
    }
}

/// avr-libc's own EEPROM functions find what they expect.
#[test]
fn avr_libc_reads_and_writes_the_eeprom() {
    let setup = "eeprom_update_byte((uint8_t *)3, 0x42); eeprom_update_byte((uint8_t *)3, 0x42); \
                 GPIOR0 = eeprom_read_byte((uint8_t *)3); eeprom_busy_wait()";
    let mut machine = running("attiny4313", setup, "");
    machine.run_for(100_000).unwrap();
    assert_eq!(machine.memory(0x33), 0x42);
    assert_eq!(
        machine.eeprom_wear()[3],
        1,
        "the second update changes nothing"
    );
}

#[test]
fn power_can_fail_in_the_middle_of_a_byte() {
    let setup = "GPIOR1 = eeprom_read_byte((uint8_t *)3); eeprom_write_byte((uint8_t *)3, 0x42)";
    for (torn, left) in [
        (Torn::Old, 0x11),
        (Torn::Erased, 0xFF),
        (Torn::Value(0x13), 0x13),
        (Torn::New, 0x42),
    ] {
        let mut machine = running("attiny2313a", setup, "");
        machine.eeprom_mut()[3] = 0x11;
        machine
            .run_while(Moment(1_000_000), |m| m.programming().is_none())
            .unwrap();
        machine.run_for(5_000).unwrap();
        machine.cycle_power(torn, PowerUpMemory::Random(7));
        assert_eq!(machine.eeprom()[3], left);
        machine.run_for(2_000).unwrap();
        assert_eq!(
            machine.memory(0x34),
            left,
            "the firmware starts again and reads it"
        );
        assert_eq!(machine.resets().last().unwrap().cause, ResetCause::PowerOn);
    }
}

/// The datasheets promise nothing about RAM at power-up: two runs differ, one run can be repeated.
#[test]
fn ram_is_random_at_power_up() {
    let mut machine = running("attiny2313a", "", "");
    let mut ram_with = |seed| {
        machine.cycle_power(Torn::Old, PowerUpMemory::Random(seed));
        (0x60..0xE0)
            .map(|address| machine.memory(address))
            .collect::<Vec<u8>>()
    };
    assert_eq!(ram_with(1), ram_with(1));
    assert_ne!(ram_with(1), ram_with(2));
}

/// 'Watchdog Timer' and 'MCU Status Register': the time-out resets, WDRF tells, WDE stays on, RAM
/// is kept, ports are inputs again, and time goes on.
#[test]
fn a_hungry_watchdog_restarts_the_firmware() {
    let globals = "unsigned char starts __attribute__((section(\".noinit\")));";
    let setup = "if (MCUSR & 1 << PORF) starts = 0; starts++; GPIOR0 = MCUSR; MCUSR = 0; \
                 GPIOR1 = WD_REGISTER; wdt_enable(WDTO_120MS); DDRB = 1; PORTB = 1";
    for (mcu, register) in [
        ("attiny2313a", "WDTCR"),
        ("attiny85", "WDTCR"),
        ("atmega88", "WDTCSR"),
    ] {
        let setup = setup.replace("WD_REGISTER", register);
        let mut machine = with_globals(mcu, globals, &setup, "");
        let starts = machine.symbol("starts").unwrap() as u16;
        machine.run_for(900_000).unwrap();
        assert_eq!(
            (machine.memory(starts), machine.level(pin("PB0"))),
            (1, Level::High)
        );
        let before = machine.now();
        machine
            .run_while(Moment(3_000_000), |m| m.resets().len() < 2)
            .unwrap();
        let reset = machine.resets()[1];
        assert_eq!(reset.cause, ResetCause::Watchdog);
        assert!(reset.at > before, "{mcu}: the clock goes on");
        let fed_at = reset.at.0 - 1_024_000;
        assert!(
            fed_at < 500,
            "{mcu}: 128 ms after the start, at cycle {fed_at}"
        );
        assert_eq!(machine.level(pin("PB0")), Level::Released);
        machine.run_for(1_000).unwrap();
        assert_eq!(machine.memory(starts), 2, "{mcu}");
        let io = |name| machine.address_of(name).unwrap();
        let (flags, control) = (io("GPIOR0"), io("GPIOR1"));
        assert_eq!(machine.memory(flags) & 1 << 3, 1 << 3, "{mcu}: WDRF");
        assert_eq!(machine.memory(control) & 1 << 3, 1 << 3, "{mcu}: WDE");
    }
}

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

/// AVR Instruction Set Manual, cycles for AVRe and AVRe+ cores.
#[test]
fn instructions_take_their_documented_cycles() {
    let expected: &[(&str, u64)] = &[
        ("add", 1),
        ("movw", 1),
        ("adiw", 2),
        ("sbiw", 2),
        ("ldi", 1),
        ("ld_x", 2),
        ("ld_x_up", 2),
        ("ld_x_down", 2),
        ("ldd", 2),
        ("st_x", 2),
        ("std", 2),
        ("lds", 2),
        ("sts", 2),
        ("in", 1),
        ("out", 1),
        ("push", 2),
        ("pop", 2),
        ("sbi", 2),
        ("cbi", 2),
        ("sbis_no_skip", 1),
        ("nop", 1),
        ("sbic_skip", 2),
        ("sbrs_no_skip", 1),
        ("sbrc_skip", 2),
        ("sbrc_skip_two", 3),
        ("cpse_skip", 2),
        ("cpse_no_skip", 1),
        ("brne_taken", 1),
        ("brne", 2),
        ("breq_not_taken", 1),
        ("rjmp", 2),
        ("rcall", 3 + 4),
        ("icall", 3 + 4),
        ("lpm_z", 3),
        ("lpm_z_up", 3),
        ("swap", 1),
        ("bst", 1),
        ("wdr", 1),
        ("sleep", 1),
    ];
    for mcu in ["attiny2313a", "atmega328p"] {
        let mut machine = machine("cycles.S", mcu, &[]);
        let place = |name: &str| machine.symbol(&format!("at_{name}")).unwrap();
        let places: Vec<u32> = expected.iter().map(|(name, _)| place(name)).collect();
        let ends = places
            .iter()
            .skip(1)
            .copied()
            .chain([place("end")])
            .collect::<Vec<_>>();
        assert!(machine.run_to(places[0], Moment(10_000)).unwrap());
        for ((name, cycles), end) in expected.iter().zip(ends) {
            let start = machine.now();
            assert!(machine.run_to(end, Moment(10_000)).unwrap(), "{name}");
            assert_eq!(machine.now() - start, *cycles, "{mcu}: {name}");
        }
    }
}

#[test]
fn the_deepest_stack_is_measured() {
    let globals = "__attribute__((noinline)) void deep(unsigned char n) \
                   { if (n) deep(n - 1); asm volatile(\"\"); }";
    let mut shallow = with_globals("attiny2313a", globals, "deep(1)", "");
    let mut deep = with_globals("attiny2313a", globals, "deep(11)", "");
    shallow.run_for(2_000).unwrap();
    deep.run_for(2_000).unwrap();
    let per_call = (deep.deepest_stack().0 - shallow.deepest_stack().0) / 10;
    assert!(per_call >= 2 && shallow.deepest_stack().0 >= 2 + 2 * per_call);
}

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

#[test]
fn what_is_not_modelled_is_reported() {
    let mut machine = running("attiny85", "ADCSRA = 1 << ADEN | 1 << ADSC", "");
    machine.run_for(1_000).unwrap();
    assert_eq!(machine.doubts()[0].doubt, Doubt::NotModelled("ADCSRA"));
}

#[test]
fn a_firmware_that_runs_off_is_a_fault() {
    let mut machine = running("attiny2313a", "*(volatile unsigned char *)0x900 = 1", "");
    assert!(matches!(machine.run_for(1_000), Err(Fault::Crash { .. })));
}

#[test]
fn a_machine_is_refused_with_its_reason() {
    let built = build("latency.S", "attiny2313a", &["-nostartfiles"]);
    let load = |mcu: &str| Machine::load(&built.elf, mcu, CLOCK).err().unwrap();
    assert_eq!(
        load("attiny2323"),
        LoadError::Part(PartError::Unknown("attiny2323".to_string()))
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

/// GNU size tells the same of the firmware's memories.
#[test]
fn sizes_are_those_of_avr_size() {
    let built = build(
        "setup.c",
        "atmega328p",
        &[
            "-DGLOBALS=int a = 7; char b[9];",
            "-DSETUP=a++; b[a]++",
            "-DLOOP=asm(\"\" :: \"m\"(b))",
        ],
    );
    let firmware = Firmware::read(&built.elf).unwrap();
    let output = Command::new("avr-size").arg(&built.elf).output().unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let row: Vec<u32> = text
        .lines()
        .nth(1)
        .unwrap()
        .split_whitespace()
        .take(3)
        .map(|size| size.parse().unwrap())
        .collect();
    assert_eq!(firmware.flash_use.0, row[0] + row[1]);
    assert_eq!(firmware.ram_use.0, row[1] + row[2]);
}

/// Every part of the table has a header that names all its registers.
#[test]
fn every_part_can_be_looked_up() {
    for name in Part::names() {
        Part::named(name).unwrap_or_else(|error| panic!("{name}: {error}"));
    }
}
