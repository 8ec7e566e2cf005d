//! Supplies that fall, pumps that start, and what to buy for them.

use duskloom::board::{self, Board, Wiring};
use duskloom::design::Design;
use duskloom::units::Amps;

use crate::board::project::made_of;
use crate::board::spice::{Case, Part};

fn judged(text: &str) -> (Design, Board) {
    let design = made_of(text);
    let board = board::report(&design);
    (design, board)
}

fn card(text: &str) -> Wiring {
    let (design, board) = judged(text);
    board::wiring(&design, &board)
}

/// Two resistors' worth of LED on cells that fall from 4.8 V to 3.0 V: worked by hand. The string's
/// current is (V − 2 V) / R, the chip's is in proportion to V; their sum is a + b · V, so that the
/// time is Q / (V_full − V_empty) / b · ln((a + b · V_full) / (a + b · V_end)).
#[test]
fn a_battery_without_a_regulator_lasts_as_its_voltage_falls() {
    let (_, board) = judged(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: {lamp: {pin: PB2}}\n\
         battery: {cells: 3, full: 1.6 V, empty: 1.0 V, capacity: 2000 mAh, self_discharge: 0 %}\n\
         strings: {lamp: {forward: 2 V, current: 20 mA, switch: mosfet, on_resistance: 0.001 ohm}}\n\
         patterns: {glow: [{set: 100 %}, {hold: 2 s}]}\n",
    );
    let string = board.circuit.strings[0].expect("it is given").string;
    let lit = board.scenes[0].on[0].0;
    let chip = board.supply.as_ref().expect("it is given").dark.0 / 4.8;
    let slope = lit / string.resistor.0;
    let (a, b) = (-2.0 * slope, slope + chip);
    let span = (a + b * 4.8) / (a + b * 3.0);
    let by_hand = 2.0 * 3600.0 / (4.8 - 3.0) / b * span.ln();
    let [short, long] = board.shows[0].life.expect("there is a battery");
    assert!((short.0 / by_hand - 1.0).abs() < 2e-3, "{short} {by_hand}");
    assert!(short <= long);
    // With the full cells' current throughout it was much less.
    let full = 2.0 * 3600.0 / board.shows[0].mean.0;
    assert!(by_hand > 1.3 * full, "{by_hand} {full}");
}

const PUMPED: &str = "chip: attiny2313a\nclock: 8 MHz internal\nchannels: {quay: {pin: PB2}}\n\
    strings: {quay: {leds: 4, forward: 2 V, saturation: 0.1 V, current: 3 mA, from: pump}}\n\
    patterns: {glow: [{to: 100 %, over: 2 s}, {to: 0 %, over: 2 s}]}\n";

/// The string's resistor is rounded up, the pump falls less, and the string gets what ngspice finds
/// at that load.
#[test_with::executable("ngspice")]
#[test]
fn a_pumped_string_gets_the_current_of_its_operating_point() {
    // BAT85 at 1 mA and 10 mA, by the parameters of `spice.rs`.
    let (design, board) = judged(&format!(
        "{PUMPED}charge_pump: {{pins: [PD0, PD1], stages: 3, capacitor: 1 uF, reservoir: 10 uF, \
         diode: [[1 mA, 225 mV], [10 mA, 299 mV]]}}\n"
    ));
    let pump = board.pump.as_ref().expect("it is given");
    let hung = board.circuit.strings[0].expect("it is given");
    assert_eq!(hung.volts, pump.loaded);
    let string = hung.string;
    let by_ohm = (pump.loaded.0 - 8.0 - 0.1) / string.resistor.0;
    assert!((string.current.0 / by_ohm - 1.0).abs() < 1e-6, "{by_ohm}");
    let bleeder = pump.loaded.0 / 1e6;
    assert!((pump.load.0 - string.current.0 - bleeder).abs() < 1e-9);
    let case = Case {
        stages: 3,
        capacitor: 1.0,
        reservoir: 10.0,
        clock: design.plan.drive.pump().expect("it has pins").clock.0,
        driver: pump.pump.driver.0,
        diode: Part::Schottky,
        load: pump.load.0 * 1e3,
        measured: None,
    };
    let found = case.measure().expect("ngspice runs");
    let measured = (found.volts - 8.0 - 0.1) / string.resistor.0;
    assert!(
        (string.current.0 / measured - 1.0).abs() < 0.03,
        "{} {measured}",
        string.current
    );
}

/// The parts list asks for a megohm across the output, and the open voltage knows it.
#[test]
fn the_open_voltage_is_that_with_the_bleeder() {
    let (_, board) = judged(&format!(
        "{PUMPED}charge_pump: {{pins: [PD0, PD1], stages: 3, capacitor: 1 uF, \
         diode: [[1 mA, 225 mV], [10 mA, 299 mV]]}}\n"
    ));
    let report = board.pump.as_ref().expect("it is given");
    let (open, bare) = (report.open, report.pump.output(Amps(0.0)));
    assert!(open < bare && open.0 > 0.9 * bare.0, "{open} {bare}");
    let bled = report.pump.output(Amps(open.0 / 1e6));
    assert!((open.0 - bled.0).abs() < 1e-6);
}

/// Empty capacitors are a short: 5 V into the pins' 25 ohm are 200 mA, of the 40 mA that a pin
/// stands (datasheet, absolute maximum ratings). 5 V / 40 mA − 25 ohm = 100 ohm.
#[test]
fn the_first_charge_of_a_pump_is_judged() {
    let pump = "charge_pump: {pins: [PD0, PD1], stages: 3, capacitor: 1 uF";
    let (_, board) = judged(&format!("{PUMPED}{pump}}}\n").replace("3 mA", "1 mA"));
    let report = board.pump.as_ref().expect("it is given");
    let pin = report.pump.driver.0;
    let gentle = report.gentle.expect("it starts too hard");
    assert!(gentle.resistor.0 + pin >= 5.0 / 0.04, "{gentle:?}");
    assert!(gentle.output < report.loaded, "{gentle:?}");
    let said = duskloom::row::objections(&board.rows);
    let hard = said.iter().find(|said| said.code == "E022");
    let label = format!("{:?}", hard.expect("it is a caution"));
    assert!(
        label.contains(&format!("resistor: {}", gentle.resistor)),
        "{label}"
    );
    // With it, nothing is said any more, and the parts list has two.
    let mild = format!("{PUMPED}{pump}, resistor: {}}}\n", gentle.resistor).replace("3 mA", "1 mA");
    let (_, board) = judged(&mild);
    let report = board.pump.as_ref().expect("it is given");
    assert!(report.gentle.is_none() && report.drive.start.0 <= 0.04);
    assert!((report.loaded.0 / gentle.output.0 - 1.0).abs() < 0.1);
    let said = duskloom::row::objections(&board.rows);
    assert!(said.iter().all(|said| said.code != "E022"), "{said:?}");
    let parts = card(&mild).parts;
    assert!(
        parts
            .iter()
            .any(|part| part.count == 2 && part.place.contains("with each leg"))
    );
}

/// Ordering information of the datasheets (from memory): which version is for which supply.
#[test]
fn the_parts_list_names_the_version_to_buy() {
    for (chip, clock, supply, title) in [
        ("attiny85", "8 MHz internal", "5 V", "ATtiny85-20,"),
        ("attiny85", "1 MHz internal", "2.4 V", "ATtiny85V-10,"),
        ("attiny2313", "1 MHz internal", "2.4 V", "ATtiny2313V-10,"),
        ("attiny2313a", "1 MHz internal", "2.4 V", "ATtiny2313A,"),
        ("atmega8", "8 MHz internal", "3.3 V", "ATmega8L-8,"),
        ("atmega8", "16 MHz crystal", "5 V", "ATmega8-16,"),
        ("atmega88", "8 MHz internal", "5 V", "ATmega88-20,"),
        ("atmega328p", "8 MHz internal", "5 V", "ATmega328P,"),
    ] {
        let card = card(&format!(
            "chip: {chip}\nclock: {clock}\nchannels: 1\nsupply: {{volts: {supply}}}\n\
             patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n"
        ));
        assert!(card.parts[0].what.starts_with(title), "{:?}", card.parts[0]);
    }
}

/// Currents that the budget averages are evened out by parts that the list has; a button has what
/// keeps a wire's noise from its leg; bases have a resistor; who may glow is told.
#[test]
fn the_parts_list_is_whole() {
    let card = card(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: {quay: {pin: PB3}, gate: {pin: PD5}}\n\
         button: {pin: PD2}\nsupply: {volts: 5 V}\n\
         strings: {all: {forward: 2 V, current: 10 mA, switch: npn}}\n\
         patterns: {glow: [{to: 100 %, over: 2 s}, {to: 0 %, over: 2 s}]}\n",
    );
    let has = |what: &str, place: &str| {
        let mut parts = card.parts.iter();
        parts.any(|part| part.what.starts_with(what) && part.place.contains(place))
    };
    assert!(has("10 uF", "at the chip") && has("47 uF to 100 uF", "strings hang"));
    assert!(has("100 kohm", "quay: base to emitter") && has("100 kohm", "gate: base"));
    assert!(
        has("1 kohm", "button: in series") && has("100 nF", "button") && has("4.7 kohm", "30 cm")
    );
}

/// ATtiny85, leg table of its datasheet: MOSI is PB0, MISO PB1; PB4 is none of the programmer's.
#[test]
fn who_may_glow_while_the_chip_is_programmed_is_told() {
    let card = card(
        "chip: attiny85\nclock: 8 MHz internal\nchannels: {quay: {pin: PB0}, gate: {pin: PB4}}\n\
         patterns: {glow: [{to: 100 %, over: 2 s}, {to: 0 %, over: 2 s}]}\n",
    );
    let mut cautions = card.cautions.iter();
    let glowing = cautions.find(|caution| caution.contains("may glow"));
    let glowing = glowing.expect("one is on the programmer's leg");
    assert!(
        glowing.contains("`quay`") && !glowing.contains("`gate`"),
        "{glowing}"
    );
}

/// A load so large that no clock is both fast enough for the droop and slow enough for the pins.
#[test]
fn a_window_is_never_the_wrong_way_round() {
    let (_, board) = judged(
        &format!(
            "{PUMPED}charge_pump: {{pins: [PD0, PD1], stages: 6, capacitor: 1 uF, diode: 0.3 V}}\n"
        )
        .replace("3 mA", "8 mA"),
    );
    let window = &board.pump.as_ref().expect("it is given").window;
    assert!(window.slowest > window.fastest, "{window:?}");
    let text = board.text();
    assert!(text.contains("none is useful: below"), "{text}");
    assert!(!text.contains("useful from"), "{text}");
}

/// Six stages put 4 · (3² + 3²) · 125 ohm = 9 kohm in the way of 4.8 mA, more than the pump has volts
/// for: a resistor is not proposed, but what would help is.
#[test]
fn a_resistor_that_leaves_too_little_is_not_proposed() {
    let (_, board) = judged(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: 2\n\
         charge_pump: {pins: [PD0, PD1], stages: 6, capacitor: 1 uF}\n\
         strings: {all: {leds: 5, forward: 2 V, current: 2.5 mA, from: pump}}\n\
         patterns: {glow: [{to: 100 %, over: 2 s}, {to: 0 %, over: 2 s}]}\n",
    );
    let report = board.pump.as_ref().expect("it is given");
    let gentle = report.gentle.expect("it starts too hard");
    assert!(!gentle.useful && gentle.output.0 < 10.0, "{gentle:?}");
    let said = duskloom::row::objections(&board.rows);
    let hard = said.iter().find(|said| said.code == "E022");
    let said = format!("{:?}", hard.expect("it is a caution"));
    assert!(!said.contains("`resistor"), "{said}");
    assert!(said.contains("less current on it"), "{said}");
}
