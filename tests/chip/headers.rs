//! Every chip against avr-libc's own headers (Debian package avr-libc), read by avr-gcc's
//! preprocessor: sizes, registers, bits, vectors, fuses.

use duskloom::chip::{Chip, Core, Pin, all};

use crate::chip::macros::{Macros, macros_of};

/// Runs a check on every chip, and fails with all it found.
fn check(of: impl Fn(&Chip, &Macros) -> Vec<String>) {
    let mut wrong = Vec::new();
    for chip in all() {
        let macros = macros_of(&chip.name);
        wrong.extend(
            of(chip, &macros)
                .into_iter()
                .map(|fault| format!("{}: {fault}", chip.name)),
        );
    }
    assert!(
        wrong.is_empty(),
        "{} differences:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

fn differ(what: &str, ours: i64, theirs: Option<i64>) -> Option<String> {
    (theirs != Some(ours)).then(|| format!("{what} is {ours:#x} here, {theirs:#x?} there"))
}

#[test_with::executable("avr-gcc")]
#[test]
fn memories_and_core() {
    check(|chip, macros| {
        let arch = match chip.core {
            Core::Avr25 => 25,
            Core::Avr4 => 4,
            Core::Avr5 => 5,
        };
        let last = i64::from(chip.ram.start) + i64::from(chip.ram.size.0) - 1;
        let has_mul = i64::from(chip.multiplies());
        [
            differ("core", arch, macros.value("__AVR_ARCH__")),
            differ(
                "MUL",
                has_mul,
                Some(i64::from(macros.has("__AVR_HAVE_MUL__"))),
            ),
            differ(
                "flash end",
                i64::from(chip.flash.0) - 1,
                macros.value("FLASHEND"),
            ),
            differ("RAM start", chip.ram.start.into(), macros.value("RAMSTART")),
            differ("RAM end", last, macros.value("RAMEND")),
            differ(
                "EEPROM end",
                i64::from(chip.eeprom.size.0) - 1,
                macros.value("E2END"),
            ),
            differ(
                "EEPROM page",
                chip.eeprom.page.0.into(),
                macros.value("E2PAGESIZE"),
            ),
            differ(
                "fuse bytes",
                chip.fuses.len() as i64,
                macros.value("FUSE_MEMORY_SIZE"),
            ),
        ]
        .into_iter()
        .flatten()
        .collect()
    });
}

#[test_with::executable("avr-gcc")]
#[test]
fn vectors() {
    check(|chip, macros| {
        let table = differ(
            "vectors",
            chip.vectors.table().0.into(),
            macros.value("_VECTORS_SIZE"),
        );
        let events =
            (chip.timers.iter()).flat_map(|timer| timer.matched.iter().chain([&timer.overflow]));
        let events = events.filter_map(|event| {
            let there = macros.value(&event.vector);
            differ(&event.vector, event.number.into(), there)
        });
        let levels = chip.wake.levels.iter();
        let levels = levels.map(|level| (&level.vector, level.number));
        let changes = chip.wake.changes.iter();
        let changes = changes.map(|change| (&change.vector, change.number));
        let wakes = levels
            .chain(changes)
            .filter_map(|(vector, number)| differ(vector, number.into(), macros.value(vector)));
        let watchdog = chip.watchdog.interrupt.iter();
        let watchdog = watchdog.filter_map(|interrupt| {
            let there = macros.value(&interrupt.vector);
            differ(&interrupt.vector, interrupt.number.into(), there)
        });
        events.chain(wakes).chain(watchdog).chain(table).collect()
    });
}

#[test_with::executable("avr-gcc")]
#[test]
fn power_down() {
    check(|chip, macros| {
        let register = chip.register(&chip.sleep.register).unwrap();
        let bits = chip.sleep.power_down.iter();
        let mode: i64 = bits.map(|bit| 1 << register.bit(bit).unwrap()).sum();
        let ours = differ("power-down", mode, macros.value("SLEEP_MODE_PWR_DOWN"));
        ours.into_iter().collect()
    });
}

#[test_with::executable("avr-gcc")]
#[test]
fn registers() {
    check(|chip, macros| {
        let differs = |(name, register): (&String, &duskloom::chip::Register)| {
            differ(name, register.address.into(), macros.value(name))
        };
        chip.registers.iter().filter_map(differs).collect()
    });
}

#[test_with::executable("avr-gcc")]
#[test]
fn bits() {
    check(|chip, macros| {
        let mut wrong = Vec::new();
        for (register, entry) in &chip.registers {
            for (number, name) in entry.bits.iter().enumerate() {
                let Some(name) = name else { continue };
                let what = format!("{register} {name}");
                wrong.extend(differ(&what, number as i64, macros.value(name)));
            }
        }
        wrong
    });
}

/// Every pin of a port that the headers name, and no other.
#[test_with::executable("avr-gcc")]
#[test]
fn port_pins() {
    check(|chip, macros| {
        let pins = ('A'..='F').flat_map(|port| (0..8).map(move |bit| Pin { port, bit }));
        pins.filter_map(|pin| {
            let named = macros.has(&format!("PORT{}{}", pin.port, pin.bit));
            (named != chip.has(pin))
                .then(|| format!("{pin}: {} here, {named} there", chip.has(pin)))
        })
        .collect()
    });
}

/// The names and places of fuse bits.
#[test_with::executable("avr-gcc")]
#[test]
fn fuse_bits() {
    check(|chip, macros| {
        let mut wrong = Vec::new();
        for byte in &chip.fuses {
            for (number, name) in byte.bits.iter().enumerate() {
                let Some(name) = name else { continue };
                // Two headers call SUT and CKSEL by one name.
                let joint = format!("FUSE_SUT_CKSEL{number}");
                let found = macros
                    .value(&format!("FUSE_{name}"))
                    .or(macros.value(&joint));
                wrong.extend(differ(name, !(1i64 << number) & 0xFF, found));
            }
        }
        wrong
    });
}

/// The fuse bytes as delivered. The headers are wrong on three chips:
///
/// - ATtiny2313A and 4313: 0x62 would be 4 MHz by the chip's own clock table (the device file's, see
///   `device_files`); the header of the ATtiny2313, and the datasheets, say 0x64: 8 MHz / 8.
/// - ATmega32U4: 0x51 is no valid clock (CKSEL = 0001 is reserved); 0x5E, 0x99, 0xF3 are the
///   datasheet's (7766, 'Fuse Bits'; from memory).
#[test_with::executable("avr-gcc")]
#[test]
fn fuses_as_delivered() {
    check(|chip, macros| {
        if chip.name == "atmega32u4" {
            let doubtful = macros.value("LFUSE_DEFAULT");
            return differ("LFUSE_DEFAULT", 0x51, doubtful)
                .into_iter()
                .collect();
        }
        let default = |name: &str| match name {
            "low" => macros
                .value("LFUSE_DEFAULT")
                .or(macros.value("FUSE_DEFAULT")),
            "high" => macros.value("HFUSE_DEFAULT"),
            _ => macros.value("EFUSE_DEFAULT"),
        };
        let differs = |byte: &duskloom::chip::FuseByte| {
            let wrong_there =
                ["attiny2313a", "attiny4313"].contains(&chip.name.as_str()) && byte.name == "low";
            let expected = if wrong_there { 0x62 } else { byte.factory };
            differ(
                &format!("fuse {}", byte.name),
                expected.into(),
                default(&byte.name),
            )
        };
        chip.fuses.iter().filter_map(differs).collect()
    });
}

/// Compare pins, where the headers have them as plain numbers: `OC0A_PORT`, `OC0A_BIT`.
#[test_with::executable("avr-gcc")]
#[test]
fn compare_pins() {
    check(|chip, macros| {
        let differs = |(_, output): (_, &duskloom::chip::Output)| {
            let port = macros
                .text(&format!("{}_PORT", output.name))?
                .strip_prefix("PORT")?;
            let bit = macros.value(&format!("{}_BIT", output.name))?;
            let theirs = format!("P{port}{bit}");
            let ours = output.pin.to_string();
            (port.len() == 1 && theirs != ours)
                .then(|| format!("{} is {ours} here, {theirs} there", output.name))
        };
        chip.outputs().filter_map(differs).collect()
    });
}
