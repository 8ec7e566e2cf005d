//! Fixtures compiled for a part and loaded into a machine.

use std::path::{Path, PathBuf};
use std::process::Command;

use duskloom::units::Hertz;
use duskloom::verify::machine::{Machine, Pin, Watch};

pub(super) const CLOCK: Hertz = Hertz(8e6);

/// A fixture compiled for a part, in a folder that goes away with it.
pub(super) struct Built {
    _folder: tempfile::TempDir,
    pub elf: PathBuf,
}

pub(super) fn build(fixture: &str, mcu: &str, options: &[&str]) -> Built {
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

pub(super) fn machine(fixture: &str, mcu: &str, options: &[&str]) -> Machine {
    let built = build(fixture, mcu, options);
    Machine::load(&built.elf, mcu, CLOCK).unwrap()
}

pub(super) fn pin(name: &str) -> Pin {
    name.parse().unwrap()
}

pub(super) const PERIODS: Watch = Watch {
    edges: false,
    periods: true,
};

/// A machine that runs `setup` once and `again` for ever, in C.
pub(super) fn running(mcu: &str, setup: &str, again: &str) -> Machine {
    with_globals(mcu, "", setup, again)
}

pub(super) fn with_globals(mcu: &str, globals: &str, setup: &str, again: &str) -> Machine {
    let [globals, setup, again] = [
        format!("-DGLOBALS={globals}"),
        format!("-DSETUP={setup}"),
        format!("-DLOOP={again}"),
    ];
    machine("setup.c", mcu, &[&globals, &setup, &again])
}

/// `(length, high)` of the tenth period at a pin.
pub(super) fn period(machine: &mut Machine, name: &str) -> (u32, u32) {
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
