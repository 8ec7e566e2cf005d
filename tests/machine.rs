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
use duskloom::verify::machine::{Machine, Moment, Period, Pin, Watch};

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
