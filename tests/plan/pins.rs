//! Which pins and timers the planner picks.

use duskloom::chip::all;
use duskloom::plan::plan;
use proptest::prelude::*;
use proptest::sample::subsequence;

use crate::plan::project::{button, project};

fn picked(chip: &str, pins: &[&str]) -> Vec<String> {
    let plan = plan(&project(chip, pins)).unwrap();
    plan.drive
        .channels()
        .iter()
        .map(|channel| format!("{} {}", channel.pin, channel.driven_by()))
        .collect()
}

#[test]
fn pins_of_ones_own_choice_come_in_timer_order() {
    assert_eq!(picked("attiny2313a", &["", ""]), ["PB2 OC0A", "PD5 OC0B"]);
    assert_eq!(
        picked("attiny2313a", &["", "PB2"]),
        ["PD5 OC0B", "PB2 OC0A"]
    );
}

#[test]
fn the_programmers_pin_comes_last_within_a_timer() {
    let all = picked("atmega328p", &[""; 6]);
    assert_eq!(all[4..], ["PD3 OC2B", "PB3 OC2A"]);
}

#[test]
fn a_pin_with_two_outputs_takes_the_timer_that_runs_anyway() {
    assert_eq!(
        picked("attiny85", &["PB1", "PB0"]),
        ["PB1 OC0B", "PB0 OC0A"]
    );
    assert_eq!(
        picked("attiny85", &["PB1", "PB4"]),
        ["PB1 OC1A", "PB4 OC1B"]
    );
    assert_eq!(picked("attiny85", &["PB1"]), ["PB1 OC0B"]);
}

#[test]
fn the_buttons_pin_is_left_alone() {
    let mut trial = project("attiny85", &[""]);
    trial.button = button("PB0");
    assert_eq!(
        plan(&trial).unwrap().drive.channels()[0].pin.to_string(),
        "PB1"
    );
}

proptest! {
    /// Any choice of distinct PWM pins can be had on any chip; each channel gets a compare register of
    /// its own, and the interrupt is the lowest timer's.
    #[test]
    fn any_pwm_pins_can_be_had(
        (index, pins) in (0..all().count()).prop_flat_map(|index| {
            let chip = all().nth(index).unwrap();
            let mut pins: Vec<String> =
                chip.outputs().map(|(_, output)| output.pin.to_string()).collect();
            pins.sort();
            pins.dedup();
            let most = pins.len();
            (Just(index), subsequence(pins, 1..=most).prop_shuffle())
        })
    ) {
        let chip = all().nth(index).unwrap();
        let names: Vec<&str> = pins.iter().map(String::as_str).collect();
        let plan = plan(&project(&chip.name, &names)).unwrap();
        let got: Vec<String> = plan.drive.channels().iter().map(|channel| channel.pin.to_string()).collect();
        prop_assert_eq!(&got, &pins);
        let drive = plan.drive.timer().unwrap();
        let mut registers: Vec<&str> = drive.outputs.iter().map(|output| output.compare).collect();
        registers.sort_unstable();
        registers.dedup();
        prop_assert_eq!(registers.len(), pins.len());
        let lowest = drive.outputs.iter().map(|output| output.timer).min().unwrap();
        prop_assert_eq!(drive.timers[0].number, lowest);
        let timer = chip.timers.iter().find(|timer| timer.number == lowest).unwrap();
        prop_assert_eq!(plan.handlers()[0].number, timer.overflow.number);
        let driven: u32 = plan.drive.directions().iter().map(|port| port.mask.count_ones()).sum();
        prop_assert_eq!(driven as usize, pins.len());
    }
}
