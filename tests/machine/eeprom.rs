//! The EEPROM, and power that fails.

use duskloom::verify::machine::{Moment, PowerUpMemory, ResetCause, Torn};

use crate::machine::support::running;

/// Table 'EEPROM Programming Time': 3.4 ms for an erase and a write.
#[test_with::executable("avr-gcc")]
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
#[test_with::executable("avr-gcc")]
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

#[test_with::executable("avr-gcc")]
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
#[test_with::executable("avr-gcc")]
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
