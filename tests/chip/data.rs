//! Each data file in itself: whatever it names, it has.

use std::collections::BTreeSet;

use duskloom::chip::{Chip, FuseBits, FuseMeaning, Pin, Polarity, Reach, all, find};
use duskloom::units::Hertz;

/// Register and bit names, wherever the data has them.
fn named_bits(chip: &Chip) -> Vec<(&str, &str)> {
    let mut named: Vec<(&str, &str)> = Vec::new();
    let mut add = |register: &'static str, bit: &'static str| named.push((register, bit));
    let chip: &'static Chip = find(&chip.name).unwrap();
    for timer in &chip.timers {
        for event in timer.matched.iter().chain([&timer.overflow]) {
            for [register, bit] in [&event.enable, &event.flag] {
                add(register, bit);
            }
        }
        for bit in timer.prescalers.values().flatten() {
            add(&timer.clock_register, bit);
        }
        let outputs = timer.outputs.iter().flat_map(|output| {
            [
                output.bits(Polarity::Inverting),
                output.bits(Polarity::NonInverting),
            ]
        });
        let modes = [
            Some(&timer.fast),
            timer.phase_correct.as_ref(),
            timer.clear.as_ref(),
        ];
        for bits in modes.into_iter().flatten() {
            bits.iter()
                .for_each(|(register, bits)| bits.iter().for_each(|bit| add(register, bit)));
        }
        for bits in outputs {
            bits.iter()
                .for_each(|(register, bits)| bits.iter().for_each(|bit| add(register, bit)));
        }
    }
    let watchdog = &chip.watchdog;
    for bit in watchdog
        .prescaler
        .iter()
        .chain([&watchdog.change, &watchdog.enable])
    {
        add(&watchdog.register, bit);
    }
    if let Some(interrupt) = &watchdog.interrupt {
        add(&watchdog.register, &interrupt.enable);
    }
    add(&watchdog.flags_register, "WDRF");
    for bit in chip.sleep.power_down.iter().chain([&chip.sleep.enable]) {
        add(&chip.sleep.register, bit);
    }
    if let Some(detector) = &chip.sleep.brown_out {
        add(&detector.register, &detector.off);
        add(&detector.register, &detector.unlock);
    }
    let levels = chip.wake.levels.iter().map(|level| &level.enable);
    let changes = chip.wake.changes.iter();
    let changes = changes.flat_map(|change| [&change.enable, &change.flag]);
    for (register, bits) in levels.chain(changes).flatten() {
        bits.iter().for_each(|bit| add(register, bit));
    }
    add(&chip.comparator.register, &chip.comparator.disable);
    if let Some(converter) = &chip.converter {
        for bit in ["ADEN", "ADSC", "ADPS0", "ADPS1", "ADPS2", &converter.again] {
            add("ADCSRA", bit);
        }
        let [register, bit] = &converter.left;
        add(register, bit);
        for (register, bits) in &converter.supply {
            bits.iter().for_each(|bit| add(register, bit));
        }
    }
    add("EECR", &chip.eeprom.arm);
    add("EECR", &chip.eeprom.start);
    for (register, bits) in chip.prescaler_reset.iter().flatten() {
        bits.iter().for_each(|bit| add(register, bit));
    }
    if chip.clocks.prescaler {
        for bit in ["CLKPCE", "CLKPS0", "CLKPS1", "CLKPS2", "CLKPS3"] {
            add("CLKPR", bit);
        }
    }
    named
}

#[test]
fn every_named_bit_is_in_its_register() {
    for chip in all() {
        for (register, bit) in named_bits(chip) {
            let entry = chip.register(register);
            let entry = entry.unwrap_or_else(|| panic!("{}: no {register}", chip.name));
            assert!(
                entry.bit(bit).is_some(),
                "{}: no {bit} in {register}",
                chip.name
            );
        }
        for timer in &chip.timers {
            let values = timer.values.iter().map(|(register, _)| register);
            let compares = timer.outputs.iter().map(|output| &output.compare);
            for register in values.chain(compares).chain([&timer.counter]) {
                assert!(
                    chip.register(register).is_some(),
                    "{}: no {register}",
                    chip.name
                );
            }
        }
        assert!(chip.register("EEARL").is_some(), "{}", chip.name);
        for port in chip.ports.keys() {
            for kind in ["PORT", "DDR", "PIN"] {
                assert!(
                    chip.register(&format!("{kind}{port}")).is_some(),
                    "{}",
                    chip.name
                );
            }
        }
    }
}

/// Every pin that the data names is a pin of the chip and on its package, once.
#[test]
fn every_pin_has_a_leg() {
    for chip in all() {
        let ports: BTreeSet<Pin> = chip
            .ports
            .iter()
            .flat_map(|(&port, bits)| bits.iter().map(move |&bit| Pin { port, bit }))
            .collect();
        for package in &chip.packages {
            let legs: Vec<Pin> = package
                .legs
                .iter()
                .filter_map(|leg| leg.parse().ok())
                .collect();
            let distinct: BTreeSet<Pin> = legs.iter().copied().collect();
            assert_eq!(
                legs.len(),
                distinct.len(),
                "{}: a pin has two legs",
                chip.name
            );
            assert_eq!(distinct, ports, "{}: legs are not the port pins", chip.name);
            let count: usize = package.name.rsplit('-').next().unwrap().parse().unwrap();
            assert_eq!(package.legs.len(), count, "{} {}", chip.name, package.name);
        }
        let programming = [
            chip.programming.mosi,
            chip.programming.miso,
            chip.programming.sck,
        ];
        let named = chip
            .outputs()
            .map(|(_, output)| output.pin)
            .chain(programming)
            .chain(chip.reset)
            .chain(chip.clocks.crystal_pins.iter().copied())
            .chain(chip.clocks.external_pin)
            .chain(
                chip.debugging
                    .iter()
                    .flat_map(|debugging| debugging.pins.clone()),
            );
        for pin in named {
            assert!(ports.contains(&pin), "{}: no pin {pin}", chip.name);
        }
    }
}

/// A programmer must still get in with any fuses that the data can choose.
#[test]
fn no_choice_of_fuses_shuts_the_programmer_out() {
    for chip in all() {
        let clocks = &chip.clocks;
        let choices: Vec<&FuseBits> = clocks
            .internal
            .iter()
            .map(|oscillator| &oscillator.fuses)
            .chain(clocks.crystal.iter().map(|range| &range.fuses))
            .chain([&clocks.external])
            .collect();
        for byte in &chip.fuses {
            for choice in &choices {
                let [mask, bits] = choice.get(&byte.name).copied().unwrap_or_default();
                let value = byte.factory & !mask | bits & mask;
                for (number, name) in byte.bits.iter().enumerate() {
                    let Some(name) = name else { continue };
                    let meaning = FuseMeaning::of(name);
                    let meaning = meaning.unwrap_or_else(|| panic!("nothing is said of {name}"));
                    let programmed = value >> number & 1 == 0;
                    assert!(!meaning.locks_out_at(programmed), "{}: {name}", chip.name);
                }
            }
        }
        let names: BTreeSet<&str> = chip.fuses.iter().map(|byte| byte.name.as_str()).collect();
        for choice in choices {
            assert!(
                choice.keys().all(|name| names.contains(name.as_str())),
                "{}",
                chip.name
            );
        }
    }
}

/// ATmega328P datasheet (DS40002061), 'Register Summary': OCR1AL is at 0x88 and out of the reach of
/// `out`; OCR0A, at 0x27 as `out` counts, is within it; PORTB can be set bit by bit. On the
/// ATtiny2313A (Atmel 8246) all compare registers are within reach.
#[test]
fn reach_follows_the_address() {
    let reach =
        |chip: &str, register: &str| find(chip).unwrap().register(register).unwrap().reach();
    assert_eq!(reach("atmega88", "OCR1AL"), Reach::Memory);
    assert_eq!(reach("atmega88", "OCR0A"), Reach::Out);
    assert_eq!(reach("atmega88", "PORTB"), Reach::Bit);
    for register in ["OCR0A", "OCR0B", "OCR1AL", "OCR1BL"] {
        assert_eq!(reach("attiny2313a", register), Reach::Out);
    }
}

/// What a pin's datasheet name lists beside the port: ATtiny85 (Atmel 2586), 'Pin Configurations'.
#[test]
fn a_pin_tells_its_functions() {
    let chip = find("attiny85").unwrap();
    let functions = |pin: &str| chip.functions(pin.parse().unwrap());
    assert_eq!(functions("PB5"), ["RESET"]);
    assert_eq!(functions("PB3"), ["XTAL1", "CLKI"]);
    assert_eq!(functions("PB4"), ["XTAL2", "OC1B"]);
    assert_eq!(functions("PB0"), ["OC0A", "MOSI"]);
    assert_eq!(functions("PB1"), ["OC0B", "OC1A", "MISO"]);
    assert_eq!(chip.packages[0].leg("PB1".parse().unwrap()), Some(6));
}

/// Datasheet 8246, 'Speed': 4 MHz from 1.8 V, 10 MHz from 2.7 V, 20 MHz from 4.5 V.
#[test]
fn speed_grades_tell_the_least_supply() {
    let volts = |hertz| {
        find("attiny2313a")
            .unwrap()
            .volts_for(Hertz(hertz))
            .map(|volts| volts.0)
    };
    assert_eq!(volts(1e6), Some(1.8));
    assert_eq!(volts(4.1e6), Some(2.7));
    assert_eq!(volts(20e6), Some(4.5));
    assert_eq!(volts(20.1e6), None);
}
