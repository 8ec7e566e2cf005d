//! What another PWM would do: each row is what a project that asks for it comes to.

use duskloom::board::{lamps, light_error};
use duskloom::curve::{self, Style, report};
use duskloom::design::Design;
use duskloom::units::Hertz;

use crate::board::project::made_of;

fn quay(pwm: &str) -> Design {
    strung("transistor: 2n3904", pwm)
}

fn strung(string: &str, pwm: &str) -> Design {
    made_of(&format!(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: [quay]\n{pwm}\
         patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n\
         strings: {{quay: {{forward: 3.0 V, current: 10 mA, {string}}}}}\n"
    ))
}

/// Marked or not, the cells of the rows of the choice of PWM.
fn rows(design: &Design) -> Vec<(bool, Vec<String>)> {
    let style = Style {
        every: 300,
        ascii: true,
    };
    let text = report(design, &style);
    assert!(text.is_ascii());
    let table = text.split("  PWM  ").nth(1).expect("a table").to_string();
    let lines = table.lines().skip(1).take_while(|line| !line.is_empty());
    let cells = |line: &str| {
        let cells = line[2..].split("  ").map(str::trim);
        cells
            .filter(|cell| !cell.is_empty())
            .map(str::to_string)
            .collect()
    };
    lines
        .map(|line| (line.starts_with('>'), cells(line)))
        .collect()
}

#[test]
fn rows_are_what_such_a_project_comes_to() {
    let design = quay("pwm: {frequency: 31.25 kHz}\n");
    let rows = rows(&design);
    assert_eq!(rows.len(), 4);
    assert_eq!(rows.iter().filter(|(used, _)| *used).count(), 1);
    // A script reads the same.
    let data = serde_json::to_value(curve::data(&design)).expect("plain data");
    for (choice, (used, cells)) in data["pwm"].as_array().expect("a list").iter().zip(&rows) {
        let error = choice["found"]["at_led"].as_f64().expect("a number");
        assert_eq!(
            (choice["used"].as_bool(), &cells[7]),
            (Some(*used), &format!("{error:.2} L*"))
        );
    }
    let mut before = f64::INFINITY;
    for (_, cells) in &rows[..3] {
        let (mode, frequency) = cells[0].split_once(", ").expect("mode and frequency");
        let asked = quay(&format!("pwm: {{frequency: {frequency}, mode: {mode}}}\n"));
        let error = lamps(&asked)[0].error.typical.error;
        assert_eq!(cells[7], format!("{error:.2} L*"), "{cells:?}");
        let figures = &asked.deck.light.figures;
        assert_eq!(cells[5], figures.distinct.to_string(), "{cells:?}");
        assert_eq!(cells[6], figures.largest_error.0.to_string(), "{cells:?}");
        // Fewer and longer pulses.
        assert!(error < before, "{cells:?}");
        before = error;
        assert!(
            self::rows(&asked)
                .iter()
                .any(|(used, other)| *used && other == cells)
        );
    }
}

/// Where an LED is seen to be off, another PWM that keeps it much truer is the planner's own choice: of those with
/// which nobody sees it, the fastest. What the person asks for stays, and so does the fastest where nothing is known.
#[test]
fn the_pwm_is_slower_where_the_led_is_the_truer_for_it() {
    let asked = |string: &str, frequency: Hertz| {
        let asked = strung(string, &format!("pwm: {{frequency: {} Hz}}\n", frequency.0));
        assert!(asked.slowed.is_none(), "{frequency}");
        light_error(&asked).expect("it is known").strain()
    };
    for (string, own) in [
        // A quick switch; one that is better, and one that is well, at fewer pulses.
        ("transistor: bss138, switch: mosfet", 31250.0),
        ("transistor: 2n3904", 3906.25),
        ("transistor: 2n3904, drive: clamp", 31250.0),
        ("transistor: 2n2222, gain: 50", 3906.25),
    ] {
        let design = strung(string, "");
        assert_eq!(design.plan.drive.pwm().frequency, Hertz(own), "{string}");
        let fastest = asked(string, Hertz(31250.0));
        match &design.slowed {
            None => assert_eq!(own, 31250.0, "{string}"),
            Some(slowed) => {
                assert_eq!(slowed.from(), Hertz(31250.0));
                let left = light_error(&design).expect("it is known").strain();
                assert!(
                    fastest > 1.0 && left <= fastest / 2.0,
                    "{string}: {left} of {fastest}"
                );
                assert!(
                    asked(string, Hertz(8e6 / 510.0)) > left.max(1.0),
                    "{string}"
                );
            }
        }
    }
    let unknown = made_of(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: [quay]\n\
         patterns: {glow: [{to: 100 %, over: 2 s}]}\n",
    );
    assert!(unknown.slowed.is_none());
    assert_eq!(unknown.plan.drive.pwm().frequency, Hertz(31250.0));
}

/// A pump that follows the PWM may be too slow for its strings; then it says so.
#[test]
fn what_cannot_be_says_why() {
    let harbour = crate::common::designs::from_file("patterns/harbour.yaml");
    let rows = rows(&harbour);
    let (_, slowest) = rows.last().expect("there are rows");
    assert!(
        slowest[1].starts_with("cannot be: `boats` needs"),
        "{slowest:?}"
    );
}

/// A column for a typical part, and one for what others of its name make of it: around it, and far apart where the
/// light is low.
#[test]
fn the_table_has_the_light_at_the_led_and_its_spread() {
    let style = Style {
        every: 16,
        ascii: true,
    };
    let design = quay("pwm: {frequency: 31.25 kHz}\n");
    let text = report(&design, &style);
    let table = text.split("  level    share").nth(1).expect("a table");
    assert!(
        table
            .lines()
            .next()
            .is_some_and(|line| line.ends_with("at LED        with others"))
    );
    let lamp = &lamps(&design)[0];
    let mut widest: f64 = 0.0;
    let rows = table.lines().skip(1).take_while(|line| !line.is_empty());
    for row in rows {
        let cells: Vec<&str> = row.split_whitespace().collect();
        let number = |back: usize| -> f64 {
            let cell = cells[cells.len() - back];
            cell.parse().expect("a number")
        };
        let (typical, low, high) = (number(4), number(3), number(1));
        assert!(low <= typical && typical <= high, "{row}");
        let level: usize = cells[0].parse().expect("a level");
        assert!(
            (lamp.light.typical[level].0 - typical).abs() < 0.006,
            "{row}"
        );
        widest = widest.max(high - low);
    }
    assert!(widest > 2.0, "{widest}");
    // A sink stores nothing, so nothing is said of others.
    let still = made_of(
        "chip: attiny85\nchannels: [a]\npatterns: {glow: [{set: 50 %}, {hold: 1 s}]}\n\
         strings: {a: {forward: 2.0 V, current: 10 mA, transistor: 2n3904, drive: sink}}\n",
    );
    assert!(!report(&still, &style).contains("with others"));
}
