//! Every chip against the vendor's device files (.atdf), as the crate `avr-mcu` ships them.

use std::collections::BTreeSet;

use avr_mcu::{Mcu, microcontroller};
use duskloom::chip::{Chip, FuseBits, all};

fn check(of: impl Fn(&Chip, &Mcu) -> Vec<String>) {
    let mut wrong = Vec::new();
    for chip in all() {
        let device = microcontroller(&chip.name);
        wrong.extend(
            of(chip, &device)
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

/// The pads of a timer's compare outputs; empty where the device file names none.
fn pads(device: &Mcu, timer: u8) -> Vec<(String, String)> {
    let instance = format!("TC{timer}");
    let instances = device
        .device
        .peripherals
        .iter()
        .flat_map(|module| &module.instances);
    instances
        .filter(|found| found.name == instance)
        .flat_map(|found| &found.signals)
        .filter_map(|signal| {
            // `OC0A` on some chips, `OCA` on others.
            let group = signal.group.as_ref()?.strip_prefix("OC")?;
            let letter = group.trim_start_matches(|c: char| c.is_ascii_digit());
            Some((format!("OC{timer}{letter}"), signal.pad.clone()))
        })
        .collect()
}

/// How many outputs the device files confirm; the others have their second source in
/// `second_sources`.
#[test]
fn compare_pins() {
    let mut confirmed = 0;
    for chip in all() {
        let device = microcontroller(&chip.name);
        for (timer, output) in chip.outputs() {
            for (name, pad) in pads(&device, timer.number) {
                if name == output.name {
                    assert_eq!(pad, output.pin.to_string(), "{} {name}", chip.name);
                    confirmed += 1;
                }
            }
        }
    }
    // All but those of the ATtiny2313 and ATtiny861 families and of the ATtiny84 without an A, for which the
    // files name none.
    let silent = ["ATtiny2313", "ATtiny861A"];
    let older = ["attiny24", "attiny44", "attiny84"];
    let speaking = all().filter(|chip| {
        !silent.contains(&chip.family.as_str()) && !older.contains(&chip.name.as_str())
    });
    assert_eq!(
        confirmed,
        speaking.map(|chip| chip.outputs().count()).sum::<usize>()
    );
}

/// The numbers of the converter's channels by pad, where the device file names them.
fn converter_pads(device: &Mcu) -> Vec<(String, u8)> {
    let peripherals = device.device.peripherals.iter();
    let instances = peripherals.flat_map(|module| &module.instances);
    let signals = instances
        .filter(|instance| instance.name == "ADC")
        .flat_map(|instance| &instance.signals);
    signals
        .filter(|signal| signal.group.as_deref() == Some("ADC"))
        .filter_map(|signal| Some((signal.pad.clone(), signal.index?)))
        .collect()
}

#[test]
fn converter_pins() {
    let mut confirmed = BTreeSet::new();
    for chip in all() {
        let pads = converter_pads(&microcontroller(&chip.name));
        let channels = chip.converter.iter().flat_map(|one| &one.channels);
        for (pin, channel) in channels {
            let theirs = pads.iter().find(|(pad, _)| *pad == pin.to_string());
            if let Some((_, theirs)) = theirs {
                assert_eq!(theirs, channel, "{} {pin}", chip.name);
                confirmed.insert(chip.family.as_str());
            }
        }
    }
    // The other files name none.
    let expected = [
        "ATmega328P",
        "ATmega32U4",
        "ATmega8",
        "ATtiny84A",
        "ATtiny85",
    ];
    assert_eq!(confirmed.into_iter().collect::<Vec<_>>(), expected);
}

/// The channel of the chip's own reference, where the device file names it.
#[test]
fn reference_channels() {
    let mut confirmed = BTreeSet::new();
    for chip in all() {
        let device = microcontroller(&chip.name);
        let groups = device
            .modules
            .iter()
            .flat_map(|module| &module.value_groups);
        let mut values = groups.flat_map(|group| &group.values);
        let theirs = values.find(|value| value.name == "ADC_VBG");
        let ours = chip.converter.as_ref().and_then(|one| one.bandgap);
        if let (Some(theirs), Some(ours)) = (theirs, ours) {
            assert_eq!(theirs.value, u32::from(ours.channel), "{}", chip.name);
            confirmed.insert(chip.family.as_str());
        }
    }
    // The other files name none.
    assert_eq!(confirmed.into_iter().collect::<Vec<_>>(), ["ATmega328P"]);
}

#[test]
fn registers() {
    check(|chip, device| {
        let mut wrong = Vec::new();
        for (name, entry) in &chip.registers {
            let found = device.registers().find(|register| register.name == *name);
            let Some(found) = found else { continue };
            if found.offset != u32::from(entry.address) {
                wrong.push(format!(
                    "{name} at {:#x} here, {:#x} there",
                    entry.address, found.offset
                ));
            }
        }
        wrong
    });
}

/// A bit of our data that a device file also names is in the same place.
#[test]
fn bits() {
    check(|chip, device| {
        let mut wrong = Vec::new();
        for (name, entry) in &chip.registers {
            for found in device.registers().filter(|register| register.name == *name) {
                for field in &found.bitfields {
                    let (Some(ours), 1) = (entry.bit(&field.name), field.mask.count_ones()) else {
                        continue;
                    };
                    if 1 << ours != field.mask {
                        wrong.push(format!("{name} {} in another place", field.name));
                    }
                }
            }
        }
        wrong
    });
}

#[test]
fn timer_vectors() {
    check(|chip, device| {
        let mut wrong = Vec::new();
        let events =
            (chip.timers.iter()).flat_map(|timer| timer.matched.iter().chain([&timer.overflow]));
        for event in events {
            let name = event.vector.trim_end_matches("_vect");
            let short = name.replace("TIMER", "TIM");
            let same = |other: &&avr_mcu::Interrupt| other.name.replace("TIMER", "TIM") == short;
            match device.device.interrupts.iter().find(same) {
                Some(found) if found.index == u32::from(event.number) => {}
                found => wrong.push(format!("{name}: {found:?}")),
            }
        }
        wrong
    });
}

/// Every fuse setting for a clock is called what we take it for.
#[test]
fn clock_fuses() {
    check(|chip, device| {
        let mut wrong = Vec::new();
        let mut expect = |fuses: &FuseBits, words: &[String]| {
            let [_, value] = fuses["low"];
            let caption = clock_caption(device, value);
            if !words.iter().all(|word| caption.contains(word.as_str())) {
                wrong.push(format!(
                    "low fuse {value:#04x} is `{caption}`, expected {words:?}"
                ));
            }
        };
        for oscillator in &chip.clocks.internal {
            let megahertz = oscillator.hertz.0 / 1e6;
            let words = match (chip.name.as_str(), megahertz) {
                ("atmega32u4", _) => vec!["Int.RC".to_string()],
                (_, 16.0) => vec!["PLL".to_string()],
                (_, 0.128) => vec!["128kHz".to_string()],
                _ => vec!["Int.RC".to_string(), format!("{megahertz}MHz")],
            };
            expect(&oscillator.fuses, &words);
        }
        for range in &chip.clocks.crystal {
            let words = match (chip.name.as_str(), range.to.0 / 1e6) {
                ("atmega8", 3.0) => "Crystal/ResonatorMediumFreq".to_string(),
                ("atmega8", _) => "Crystal/ResonatorHighFreq".to_string(),
                (_, 20.0) if chip.family == "ATmega328P" => "Full-swingCrystal".to_string(),
                (_, to) if to > 8.0 => "CrystalOsc.8.0-MHz".to_string(),
                (_, 8.0) => "CrystalOsc.3.0-8.0MHz".to_string(),
                (_, 3.0) => "CrystalOsc.0.9-3.0MHz".to_string(),
                _ => "CrystalOsc.0.4-0.9MHz".to_string(),
            };
            expect(&range.fuses, &[words]);
        }
        expect(&chip.clocks.external, &["Ext.Clock".to_string()]);
        wrong
    });
}

/// Every brown-out level, as the fuses that choose it read, is called what we take it for.
#[test]
fn brown_out_fuses() {
    check(|chip, device| {
        let groups = device
            .modules
            .iter()
            .flat_map(|module| &module.value_groups);
        let values: Vec<(u32, String)> = groups
            .filter(|group| group.name.contains("BODLEVEL"))
            .flat_map(|group| &group.values)
            .map(|value| (value.value, value.caption.clone()))
            .collect();
        let mut wrong = Vec::new();
        for level in &chip.brown_out {
            let names = chip
                .fuses
                .iter()
                .flat_map(|byte| byte.bits.iter().flatten());
            let code: u32 = names
                .filter_map(|name| Some((name, name.strip_prefix("BODLEVEL")?)))
                .filter(|(name, _)| !level.programmed.contains(name))
                .map(|(_, number)| 1 << number.parse().unwrap_or(0))
                .sum();
            let caption = values.iter().find(|(value, _)| *value == code);
            let expected = format!("VCC={:.1} V", level.volts.0);
            if !caption.is_some_and(|(_, caption)| caption.contains(&expected)) {
                wrong.push(format!("{expected} is {code:#b} here, {caption:?} there"));
            }
            if !(level.trips[0] < level.volts && level.volts < level.trips[1]) {
                wrong.push(format!("{} does not trip about itself", level.volts));
            }
        }
        if values.is_empty() || chip.brown_out.is_empty() {
            wrong.push("no levels to compare".into());
        }
        wrong
    });
}

/// The device file of the ATtiny2313 calls its own default (0x62) a clock of 4 MHz, which its datasheet
/// contradicts; ours (0x64) is what it calls 8 MHz.
#[test]
fn the_low_fuse_of_the_2313_family_is_for_8_megahertz() {
    for name in ["attiny2313", "attiny2313a", "attiny4313"] {
        let device = microcontroller(name);
        assert!(clock_caption(&device, 0x22).contains("4MHz"), "{name}");
        assert!(clock_caption(&device, 0x24).contains("8MHz"), "{name}");
    }
}

/// What the device file calls this setting of SUT and CKSEL, without blanks.
fn clock_caption(device: &Mcu, value: u8) -> String {
    let groups = device.modules.iter().filter(|module| module.name == "FUSE");
    let values = groups
        .flat_map(|module| &module.value_groups)
        .filter(|group| {
            group.name.contains("SUT_CKSEL")
                || group.name.contains("SUT") && group.name.contains("CKSEL")
        });
    let found = values
        .flat_map(|group| &group.values)
        .find(|found| found.value == u32::from(value));
    found.map_or(String::new(), |found| found.caption.replace(' ', ""))
}
