//! Boards that can be built and should not be run as they are: what the budget objects to, and what it
//! only warns of.

use duskloom::board::report;
use duskloom::diagnostic::{Report, render};
use duskloom::row::objections;

use crate::board::project::made_of;

const LIGHT: &str = "\
chip: attiny2313a
clock: 8 MHz internal
channels: [quay, tower]
patterns: {glow: [{to: 100 %, over: 2 s}, {to: 0 %, over: 2 s}]}
";

#[test]
fn what_is_too_much_is_told_with_what_helps() {
    for (name, board) in [
        (
            "supply-too-weak",
            "supply: {volts: 5 V, limit: 50 mA}\n\
             strings: {all: {forward: 2 V, current: 30 mA, switch: mosfet}}\n",
        ),
        (
            "regulator-too-hot",
            "supply: {volts: 5 V, regulator: {input: 12 V, rating: 200 mW}}\n\
             strings: {all: {forward: 2 V, current: 40 mA, switch: mosfet}}\n",
        ),
        (
            "regulator-warm",
            "supply: {volts: 5 V, regulator: {input: 12 V, rating: 270 mW}}\n\
             strings: {all: {forward: 2 V, current: 40 mA, switch: mosfet}}\n",
        ),
        (
            "slow-switch",
            "strings: {all: {forward: 3 V, current: 10 mA, transistor: 2n2222}}\n",
        ),
        (
            "slow-pin",
            "strings: {all: {forward: 3 V, current: 1 mA, switch: pin, capacitance: 100 pF}}\n",
        ),
        (
            "pump-strains-its-pins",
            "charge_pump: {pins: [PD0, PD1], stages: 6, capacitor: 1 uF}\n\
             strings: {all: {leds: 5, forward: 2 V, current: 2.5 mA}}\n",
        ),
        (
            "pump-mostly-ripple",
            "charge_pump: {pins: [PD0, PD1], stages: 3, capacitor: 1 uF, reservoir: 100 nF}\n\
             strings: {all: {leds: 4, forward: 2 V, current: 1 mA}}\n",
        ),
    ] {
        let design = made_of(&format!("{LIGHT}{board}"));
        let mut told = Report::new(design.project.sources.clone());
        for objection in objections(&report(&design).rows) {
            told.push(objection);
        }
        assert!(!told.diagnostics.is_empty(), "{name}");
        insta::assert_snapshot!(name, render(&told.sorted(), false));
    }
}

/// Many pins at their limit are too much for the chip's supply legs together.
#[test]
fn all_pins_together_are_too_much() {
    let design = made_of(
        "chip: atmega328p\nchannels: 6\npatterns: {glow: [{to: 100 %, over: 2 s}]}\n\
         strings: {all: {forward: 2 V, current: 35 mA, switch: pin}}\n",
    );
    let board = report(&design);
    let together = board.pins.as_ref().expect("strings are given").together;
    assert!(together.0 > 0.16, "{together}");
    let said = objections(&board.rows);
    assert!(said.iter().any(|said| said.code == "E008"), "{said:#?}");
}
