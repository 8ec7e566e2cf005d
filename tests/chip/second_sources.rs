//! Compare pins and legs against sources that cannot be run here, typed from them.

use duskloom::chip::{all, find};

/// Chips, and their outputs with their pins.
type Outputs = (
    &'static [&'static str],
    &'static [(&'static str, &'static str)],
);

/// Compare pins: chips, output and pin, from the source named beside them.
const COMPARE_PINS: &[Outputs] = &[
    // simavr 1.6, sim_tiny13.c: com_pin of timer 0.
    (&["attiny13a"], &[("OC0A", "PB0"), ("OC0B", "PB1")]),
    // simavr 1.6, sim_tiny2313.c, sim_tiny2313a.c, sim_tiny4313.c.
    (
        &["attiny2313", "attiny2313a", "attiny4313"],
        &[
            ("OC0A", "PB2"),
            ("OC0B", "PD5"),
            ("OC1A", "PB3"),
            ("OC1B", "PB4"),
        ],
    ),
    // simavr 1.6, sim_tinyx5.h.
    (
        &["attiny25", "attiny45", "attiny85"],
        &[
            ("OC0A", "PB0"),
            ("OC0B", "PB1"),
            ("OC1A", "PB1"),
            ("OC1B", "PB4"),
        ],
    ),
    // avr-libc's iotn24a.h to iotn84a.h (OC0A_PORT, OC0A_BIT, …).
    (
        &[
            "attiny24",
            "attiny24a",
            "attiny44",
            "attiny44a",
            "attiny84",
            "attiny84a",
        ],
        &[
            ("OC0A", "PB2"),
            ("OC0B", "PA7"),
            ("OC1A", "PA6"),
            ("OC1B", "PA5"),
        ],
    ),
    // Datasheet 8197, 'Pin Configurations' (from memory), and avr-libc's iotn861a.h for OC1A, OC1D.
    (
        &["attiny261a", "attiny461a", "attiny861a"],
        &[("OC1A", "PB1"), ("OC1B", "PB3"), ("OC1D", "PB5")],
    ),
    // simavr 1.6, sim_mega8.c.
    (
        &["atmega8"],
        &[("OC1A", "PB1"), ("OC1B", "PB2"), ("OC2", "PB3")],
    ),
    // simavr 1.6, sim_megax8.h.
    (
        &[
            "atmega48",
            "atmega88",
            "atmega168",
            "atmega328",
            "atmega48pa",
            "atmega328p",
        ],
        &[
            ("OC0A", "PD6"),
            ("OC0B", "PD5"),
            ("OC1A", "PB1"),
            ("OC1B", "PB2"),
            ("OC2A", "PB3"),
            ("OC2B", "PD3"),
        ],
    ),
    // Debian's arduino-core-avr 1.8.7, variants/leonardo/pins_arduino.h.
    (
        &["atmega32u4"],
        &[
            ("OC0A", "PB7"),
            ("OC0B", "PD0"),
            ("OC1A", "PB5"),
            ("OC1B", "PB6"),
            ("OC1C", "PB7"),
            ("OC3A", "PC6"),
            ("OC4A", "PC7"),
            ("OC4B", "PB6"),
            ("OC4D", "PD7"),
        ],
    ),
];

#[test]
fn compare_pins() {
    for (chips, pins) in COMPARE_PINS {
        for name in *chips {
            let chip = find(name).unwrap();
            let ours: Vec<(&str, String)> = chip
                .outputs()
                .map(|(_, output)| (output.name.as_str(), output.pin.to_string()))
                .collect();
            let ours: Vec<(&str, &str)> = ours
                .iter()
                .map(|(output, pin)| (*output, pin.as_str()))
                .collect();
            assert_eq!(ours, *pins, "{name}");
        }
    }
}

/// Legs from leg 1 on, from KiCad's symbol library (Debian's kicad-symbols 6.0.10), without
/// alternative names.
const LEGS: &[(&str, &str, &str)] = &[
    // ATtiny13V-10P
    ("ATtiny13A", "PDIP-8", "PB5 PB3 PB4 GND PB0 PB1 PB2 VCC"),
    // ATtiny13A-SS, ATtiny85-20S, ATtiny85-20M
    ("ATtiny13A", "SOIC-8", "PB5 PB3 PB4 GND PB0 PB1 PB2 VCC"),
    ("ATtiny85", "SOIC-8", "PB5 PB3 PB4 GND PB0 PB1 PB2 VCC"),
    (
        "ATtiny85",
        "QFN-20",
        "PB5 PB3 NC NC PB4 NC NC GND NC NC PB0 PB1 NC PB2 VCC NC NC NC NC NC",
    ),
    // ATtiny84A-SS, ATtiny84A-M
    (
        "ATtiny84A",
        "SOIC-14",
        "VCC PB0 PB1 PB3 PB2 PA7 PA6 PA5 PA4 PA3 PA2 PA1 PA0 GND",
    ),
    (
        "ATtiny84A",
        "QFN-20",
        "PA4 PA3 PA2 PA1 PA0 NC NC GND VCC NC PB0 PB1 PB3 PB2 PA7 PA6 NC NC NC PA5",
    ),
    // ATtiny2313A-S, ATtiny2313A-M, ATtiny861A-S
    (
        "ATtiny2313",
        "SOIC-20",
        "PA2 PD0 PD1 PA1 PA0 PD2 PD3 PD4 PD5 GND PD6 PB0 PB1 PB2 PB3 PB4 PB5 PB6 PB7 VCC",
    ),
    (
        "ATtiny2313",
        "QFN-20",
        "PD1 PA1 PA0 PD2 PD3 PD4 PD5 GND PD6 PB0 PB1 PB2 PB3 PB4 PB5 PB6 PB7 VCC PA2 PD0",
    ),
    // With GND for its AGND.
    (
        "ATtiny861A",
        "SOIC-20",
        "PB0 PB1 PB2 PB3 VCC GND PB4 PB5 PB6 PB7 PA7 PA6 PA5 PA4 AVCC GND PA3 PA2 PA1 PA0",
    ),
    // ATmega328P-A; ATmega8A-A, with GND for its AGND.
    (
        "ATmega328P",
        "TQFP-32",
        "PD3 PD4 GND VCC GND VCC PB6 PB7 PD5 PD6 PD7 PB0 PB1 PB2 PB3 PB4 PB5 AVCC ADC6 AREF GND \
         ADC7 PC0 PC1 PC2 PC3 PC4 PC5 PC6 PD0 PD1 PD2",
    ),
    (
        "ATmega8",
        "TQFP-32",
        "PD3 PD4 GND VCC GND VCC PB6 PB7 PD5 PD6 PD7 PB0 PB1 PB2 PB3 PB4 PB5 AVCC ADC6 AREF GND \
         ADC7 PC0 PC1 PC2 PC3 PC4 PC5 PC6 PD0 PD1 PD2",
    ),
    // ATtiny24V-10P
    (
        "ATtiny84A",
        "PDIP-14",
        "VCC PB0 PB1 PB3 PB2 PA7 PA6 PA5 PA4 PA3 PA2 PA1 PA0 GND",
    ),
    // ATtiny25V-10P
    ("ATtiny85", "PDIP-8", "PB5 PB3 PB4 GND PB0 PB1 PB2 VCC"),
    // ATtiny2313V-10P
    (
        "ATtiny2313",
        "PDIP-20",
        "PA2 PD0 PD1 PA1 PA0 PD2 PD3 PD4 PD5 GND PD6 PB0 PB1 PB2 PB3 PB4 PB5 PB6 PB7 VCC",
    ),
    // ATtiny461V-10P
    (
        "ATtiny861A",
        "PDIP-20",
        "PB0 PB1 PB2 PB3 VCC GND PB4 PB5 PB6 PB7 PA7 PA6 PA5 PA4 AVCC GND PA3 PA2 PA1 PA0",
    ),
    // ATmega48V-10P
    (
        "ATmega328P",
        "PDIP-28",
        "PC6 PD0 PD1 PD2 PD3 PD4 VCC GND PB6 PB7 PD5 PD6 PD7 PB0 \
         PB1 PB2 PB3 PB4 PB5 AVCC AREF GND PC0 PC1 PC2 PC3 PC4 PC5",
    ),
    // The device file ATmega8.atdf, pinout PDIP28.
    (
        "ATmega8",
        "PDIP-28",
        "PC6 PD0 PD1 PD2 PD3 PD4 VCC GND PB6 PB7 PD5 PD6 PD7 PB0 \
         PB1 PB2 PB3 PB4 PB5 AVCC AREF GND PC0 PC1 PC2 PC3 PC4 PC5",
    ),
    // The device file ATmega32U4.atdf, pinout TQFP44, with D- and D+ for its DM and DP.
    (
        "ATmega32U4",
        "TQFP-44",
        "PE6 UVCC D- D+ UGND UCAP VBUS PB0 PB1 PB2 PB3 PB7 RESET VCC GND XTAL2 XTAL1 PD0 PD1 PD2 \
         PD3 PD5 GND AVCC PD4 PD6 PD7 PB4 PB5 PB6 PC6 PC7 PE2 VCC GND PF7 PF6 PF5 PF4 PF1 PF0 AREF \
         GND AVCC",
    ),
];

#[test]
fn legs() {
    for chip in all() {
        for package in &chip.packages {
            let found = LEGS
                .iter()
                .find(|(family, name, _)| *family == chip.family && *name == package.name)
                .unwrap_or_else(|| panic!("no second source for {} {}", chip.name, package.name));
            let theirs: Vec<&str> = found.2.split_whitespace().collect();
            assert_eq!(package.legs, theirs, "{}", chip.name);
        }
    }
}
