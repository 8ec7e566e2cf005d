//! Reading an ELF file.

use std::process::Command;

use duskloom::verify::Firmware;

use crate::machine::support::build;

/// GNU size tells the same of the firmware's memories.
#[test_with::executable("avr-gcc")]
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
