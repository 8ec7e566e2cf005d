//! A whole light in small, on every family.

use duskloom::verify::machine::{Moment, Period, Pin, Watch};

use crate::machine::support::{PERIODS, machine, pin};

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

#[test_with::executable("avr-gcc")]
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

#[test_with::executable("avr-gcc")]
#[test]
fn a_tick_comes_every_32_overflows_and_the_button_is_remembered() {
    let mut machine = machine(
        "dither.S",
        "attiny2313a",
        &["-nostartfiles", "-DSTART_LAG=1"],
    );
    let tick = machine.symbol("tick_done").unwrap();
    let end = Moment(80_000_000);
    assert!(machine.run_to(tick, end).unwrap());
    let first = machine.now();
    for _ in 0..100 {
        assert!(machine.run_to(tick, end).unwrap());
    }
    let drift = (machine.now() - first).abs_diff(100 * 32 * 256);
    assert!(drift <= 4, "{drift} cycles in 100 ticks");

    machine.drive(pin("PB0"), Some(false));
    for _ in 0..20 {
        assert!(machine.run_to(tick, end).unwrap());
    }
    machine.drive(pin("PB0"), None);
    let pressed = machine.register(20);
    assert_eq!(
        machine.eeprom_wear()[0],
        5,
        "a write takes more than three ticks of 1.02 ms"
    );
    assert!((1..=pressed).contains(&machine.eeprom()[0]));
    machine.run_for(2_000_000).unwrap();
    assert_eq!(machine.eeprom_wear()[0], 5, "released");
}

/// The pump pins start from opposite levels and toggle in the same clock, once an overflow.
#[test_with::executable("avr-gcc")]
#[test]
fn pump_pins_are_complementary() {
    let mut machine = machine(
        "dither.S",
        "attiny2313a",
        &["-nostartfiles", "-DSTART_LAG=1"],
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
    machine.run_for(100).unwrap();
    machine.take_edges();
    machine.run_for(256 * 100).unwrap();
    let edges = machine.take_edges();
    let of = |name: &str| {
        edges
            .iter()
            .filter(|e| e.pin == pin(name))
            .collect::<Vec<_>>()
    };
    let (first, second) = (of("PD0"), of("PD1"));
    assert!(first.len() >= 97);
    for (a, b) in first.iter().zip(&second) {
        assert_eq!(a.at, b.at);
        assert_ne!(a.level, b.level);
    }
    assert!(
        first
            .windows(2)
            .skip(1)
            .all(|w| (w[1].at - w[0].at).abs_diff(256) <= 8)
    );
}
