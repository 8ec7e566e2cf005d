//! The crystal's oscillator: at full swing where strings of more than 5 V are switched (ATmega328P
//! DS40002061, table 'Full Swing Crystal Oscillator Operating Modes', CKSEL3..1 = 011; ATmega8 datasheet
//! 2486, table 4, CKOPT programmed; from memory).

use duskloom::plan::Plan;

use crate::common::designs::from_text;

fn plan(chip: &str, clock: &str, supply: &str, leds: u8, from: &str) -> Plan {
    let text = format!(
        "chip: {chip}\nclock: {clock} crystal\nchannels: {{tower: {{pin: PB3}}}}\nsupply: {supply}\n\
         strings: {{all: {{leds: {leds}, forward: 2.1 V, current: 20 mA, switch: mosfet, from: {from}}}}}\n\
         patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n"
    );
    from_text("crystal.yaml", &text).plan
}

const TWELVE_VOLTS: &str = "{volts: 5 V, regulator: {input: 11 V .. 12 V}}";

#[test]
fn strings_of_twelve_volts_call_for_full_swing() {
    for clock in ["1 MHz", "4 MHz", "16 MHz"] {
        let noisy = plan("atmega328p", clock, TWELVE_VOLTS, 4, "input");
        let low = &noisy.fuses[0];
        assert_eq!(low.value & 0x0F, 0b0111, "{clock}");
        assert!(low.reason.contains("at full swing"), "{}", low.reason);
        let calm = plan("atmega328p", clock, "{volts: 5 V}", 1, "supply");
        assert_eq!(calm.fuses[0].value & 0x08, 0x08, "{clock}: low power");
    }
}

#[test]
fn a_chip_with_an_option_for_it_has_that_programmed() {
    let ckopt = |plan: Plan| plan.fuses[1].value & 0x10;
    assert_eq!(ckopt(plan("atmega8", "4 MHz", TWELVE_VOLTS, 4, "input")), 0);
    assert_eq!(
        ckopt(plan("atmega8", "4 MHz", "{volts: 5 V}", 1, "supply")),
        0x10
    );
}

#[test]
fn a_chip_without_the_choice_is_as_it_was() {
    let [noisy, calm] =
        [(TWELVE_VOLTS, 4, "input"), ("{volts: 5 V}", 1, "supply")].map(|(supply, leds, from)| {
            plan("attiny2313a", "4 MHz", supply, leds, from).fuses[0].value
        });
    assert_eq!(noisy, calm);
}
