//! What cells, LEDs of a batch and warm ones do to the light, in L*. The figures beside the checks are those of the
//! study that preceded the model (by Ohm's law and the formula of CIE 1976; cells' resistance from memory).

use duskloom::board::{Board, report};
use duskloom::row::{Quantity, Row};

use crate::board::project::made_of;

fn board(battery: &str, string: &str) -> Board {
    report(&made_of(&format!(
        "chip: attiny85\nclock: 1 MHz internal\nchannels: {{lamp: {{pin: PB1}}}}\n\
         patterns: {{glow: [{{set: 100 %}}, {{hold: 2 s}}]}}\n\
         {battery}\nstrings: {{lamp: {{{string}}}}}\n"
    )))
}

fn row<'a>(board: &'a Board, name: &str) -> &'a Row {
    let found = board.rows.iter().find(|row| row.name == name);
    found.unwrap_or_else(|| panic!("no row {name}"))
}

fn lightness(board: &Board, name: &str) -> f64 {
    match row(board, name).figure {
        Quantity::Lightness(lightness) => lightness.0,
        ref other => panic!("{other}"),
    }
}

/// A coin cell takes 5 to 14 L* of a full level by its resistance, three AA cells under 1 L*.
#[test]
fn cells_that_resist_cost_light() {
    let red = "forward: 1.8 V, current: 10 mA, colour: red, switch: mosfet, transistor: bss138";
    let coin = board(
        "battery: {kind: cr2032, full: 3 V, empty: 2.2 V, capacity: 220 mAh}",
        red,
    );
    let supply = coin.supply.as_ref().expect("there is a battery");
    let [full, spent] = supply
        .spent
        .expect("it says")
        .sagging
        .expect("it resists")
        .1;
    assert!((2.0..9.0).contains(&full.0), "{full}");
    assert!(spent.0 > full.0 && spent.0 < 25.0, "{spent}");
    let aa = board(
        "battery: {cells: 3, kind: aa, full: 1.5 V, empty: 1.1 V, capacity: 2000 mAh}",
        red,
    );
    assert!(lightness(&aa, "battery-sag-light") < 1.0);
    let firm = board(
        "battery: {cells: 3, full: 1.5 V, empty: 1.1 V, capacity: 2000 mAh}",
        red,
    );
    assert!(firm.rows.iter().all(|row| row.name != "battery-sag-light"));
}

/// From 4.5 V to 3.3 V a 2 V string behind a resistor: (3.3 - 2.0 - 0.1) / (4.5 - 2.0 - 0.1) = half the current,
/// L* 76.
#[test]
fn cells_that_run_down_dim_the_light() {
    let board = board(
        "battery: {cells: 3, full: 1.5 V, empty: 1.1 V, capacity: 2000 mAh}",
        "forward: 2.0 V, current: 10 mA, transistor: 2n3904",
    );
    let by_hand = 100.0 - (116.0 * 0.5_f64.cbrt() - 16.0);
    let lost = lightness(&board, "battery-light");
    assert!((lost - by_hand).abs() < 0.1, "{lost} {by_hand}");
}

/// An amber LED that is 20 K warmer loses 6 L*, a white one hardly any.
#[test]
fn warm_leds_fade_by_their_colour() {
    let lost = |colour: &str| {
        let string = format!("forward: 2.0 V, current: 10 mA, switch: mosfet, colour: {colour}");
        lightness(&board("supply: {volts: 5 V}", &string), "led-warmth")
    };
    assert!((lost("amber") - 6.0).abs() < 0.3, "{}", lost("amber"));
    assert!(lost("white") < 2.0 && lost("red") > 3.0);
    let plain = board("supply: {volts: 5 V}", "forward: 2.0 V, current: 10 mA");
    assert!(plain.rows.iter().all(|row| row.name != "led-warmth"));
}

/// By hand for one LED of 3.0 V ± 0.2 V at 5 V ± 5 % behind 180 ohm ± 5 %, 0.1 ohm beside: from 1.55 V / 189.1 ohm
/// to 2.45 V / 171.1 ohm, around 2 V / 180.1 ohm.
#[test]
fn the_spread_of_leds_is_told_in_lightness() {
    let board = board(
        "supply: {volts: 5 V}",
        "forward: 3.0 V, spread: 2.8 V .. 3.2 V, current: 11.2 mA, switch: mosfet",
    );
    let string = board.circuit.strings[0].expect("it is given").string;
    assert_eq!(string.resistor.0, 180.0);
    let nominal = 2.0 / 180.1;
    let off = |current: f64| 116.0 * ((current / nominal).cbrt() - 1.0);
    let (low, high) = (off(1.55 / 189.1), off(2.45 / 171.1));
    let most = f64::max(-low, high);
    assert!(
        (lightness(&board, "led-spread") - most).abs() < 0.01,
        "{low} {high}"
    );
    let note = &row(&board, "led-spread").note;
    assert!(
        note.contains(&format!("{low:+.0} to {high:+.0} L*")),
        "{note}"
    );
}
