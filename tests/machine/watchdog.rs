//! The watchdog.

use duskloom::verify::machine::{Level, Moment, ResetCause};

use crate::machine::support::{pin, with_globals};

/// 'Watchdog Timer' and 'MCU Status Register': the time-out resets, WDRF tells, WDE stays on, RAM
/// is kept, ports are inputs again, and time goes on.
#[test_with::executable("avr-gcc")]
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

/// 'MCU Status Register': each cause sets its flag, which only a power-on or the firmware clears; memory
/// is kept, and WDRF keeps the watchdog on through other resets.
#[test]
fn every_reset_tells_its_cause_and_keeps_the_memory() {
    let globals = "unsigned char starts __attribute__((section(\".noinit\")));";
    let setup = "starts++; GPIOR0 = MCUSR; GPIOR1 = WDTCR; DDRB = 1; PORTB = 1";
    let mut machine = with_globals("attiny85", globals, setup, "");
    let starts = machine.symbol("starts").unwrap() as u16;
    machine.run_for(1_000).unwrap();
    let before = machine.memory(starts);
    let [flags, control] = ["GPIOR0", "GPIOR1"].map(|name| machine.address_of(name).unwrap());
    let mut seen = Vec::new();
    for cause in [
        ResetCause::External,
        ResetCause::BrownOut,
        ResetCause::Watchdog,
        ResetCause::External,
        ResetCause::PowerOn,
    ] {
        machine.reset(cause);
        assert_eq!(machine.level(pin("PB0")), Level::Released);
        assert_eq!(machine.resets().last().unwrap().cause, cause);
        machine.run_for(1_000).unwrap();
        let runs = machine.memory(control) & 1 << 3 != 0;
        seen.push((machine.memory(flags), runs));
    }
    assert_eq!(
        seen,
        [
            (0b0011, false),
            (0b0111, false),
            (0b1111, true),
            (0b1111, true),
            (0b0001, false)
        ]
    );
    assert_eq!(machine.memory(starts), before.wrapping_add(5));
}
