//! What scripts read: the shape of each command's JSON, so that no key changes unseen, and its numbers against
//! the report that a person reads.

use serde_json::Value;

use crate::cli::support::{Desk, scenario};

/// The keys and types of a value; of a list, those of all its items.
fn shape(value: &Value, indent: usize, text: &mut String) {
    let pad = "  ".repeat(indent);
    match value {
        Value::Object(fields) => {
            for (key, value) in fields {
                text.push_str(&format!("{pad}{key}: {}\n", kind(value)));
                shape(value, indent + 1, text);
            }
        }
        Value::Array(items) => {
            let mut shapes: Vec<String> = items
                .iter()
                .map(|item| {
                    let mut text = format!("{pad}- {}\n", kind(item));
                    shape(item, indent + 1, &mut text);
                    text
                })
                .collect();
            shapes.sort();
            shapes.dedup();
            text.push_str(&shapes.concat());
        }
        _ => {}
    }
}

fn kind(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "truth",
        Value::Number(_) => "number",
        Value::String(_) => "text",
        Value::Array(_) => "list",
        Value::Object(_) => "mapping",
    }
}

fn data(arguments: &str) -> Value {
    let desk = Desk::with(&scenario("platform.yaml"));
    let answer = desk.run(&format!("{arguments} --format json"));
    serde_json::from_str(&answer.out).unwrap_or_else(|_| panic!("{}", answer.shown()))
}

#[test]
fn keys_and_types_of_each_command() {
    let mut text = String::new();
    for command in [
        "curve light.yaml",
        "preview light.yaml",
        "chips attiny85",
        "explain S011",
        "wiring light.yaml",
        "budget light.yaml",
    ] {
        text.push_str(&format!("{command}\n"));
        shape(&data(command), 1, &mut text);
    }
    insta::assert_snapshot!(text);
}

/// No number has the noise of a binary fraction.
#[test]
fn numbers_are_as_a_person_would_write_them() {
    fn numbers(value: &Value, all: &mut Vec<String>) {
        match value {
            Value::Number(number) => all.push(number.to_string()),
            Value::Array(items) => items.iter().for_each(|item| numbers(item, all)),
            Value::Object(fields) => fields.values().for_each(|value| numbers(value, all)),
            _ => {}
        }
    }
    let mut all = Vec::new();
    numbers(&data("curve light.yaml"), &mut all);
    numbers(&data("chips"), &mut all);
    assert!(all.len() > 1000, "only {} numbers", all.len());
    for number in all {
        assert!(number.len() <= 12, "{number}");
    }
}

#[test]
fn the_levels_are_those_of_the_table() {
    let curve = data("curve light.yaml");
    let levels = curve["levels"].as_array().expect("levels");
    let desk = Desk::with(&scenario("platform.yaml"));
    let table = desk.run("curve light.yaml").out;
    for level in levels {
        let number = level["level"].as_u64().expect("a level").to_string();
        let of_level = |line: &&str| {
            let mut columns = line.split_whitespace();
            columns.next() == Some(&number) && columns.nth(1) == Some("%")
        };
        let row = table.lines().find(of_level).expect("a row of the level");
        let columns: Vec<f64> = row
            .split_whitespace()
            .filter_map(|column| column.parse().ok())
            .collect();
        let value = |key: &str| level[key].as_f64().expect("a number");
        // Level, share in percent, L* wanted, L* real, as the table rounds them.
        for (at, value, rounding) in [
            (1, 100.0 * value("share"), 0.05),
            (2, value("wanted"), 0.005),
            (3, value("real"), 0.005),
        ] {
            assert!(
                (columns[at] - value).abs() < rounding + 0.006,
                "{row}: {value}"
            );
        }
    }
    let used = curve["stored"].as_array().expect("forms").iter();
    assert_eq!(used.filter(|form| form["used"] == true).count(), 1);
}

/// JSON and CSV tell the same frames, from the second and for the span that is asked for.
#[test]
fn frames_are_the_same_in_both_forms() {
    let some = "preview light.yaml --start 1s --span 500ms";
    let recording = data(some);
    let desk = Desk::with(&scenario("platform.yaml"));
    let csv = desk.run(&format!("{some} --format csv")).out;
    let mut lines = csv.lines();
    let channels = recording["channels"].as_array().expect("channels");
    let heading = lines.next().expect("a heading");
    assert_eq!(heading.split(',').count(), 2 + channels.len());
    let tick = recording["tick"].as_f64().expect("seconds");
    for pattern in recording["patterns"].as_array().expect("patterns") {
        let frames = pattern["frames"].as_array().expect("frames");
        assert_eq!(frames.len(), (0.5 / tick).round() as usize);
        assert!((frames[0]["at"].as_f64().expect("seconds") - 1.0).abs() <= tick);
        for frame in frames {
            let numbers = frame["duties"].as_array().expect("duties").iter();
            let all = numbers.map(|duty| duty.as_f64().expect("a duty"));
            let told = lines.next().expect("a line a frame");
            let read = told
                .split(',')
                .skip(2)
                .map(|cell| cell.parse::<f64>().expect("a number"));
            assert!(all.eq(read), "{told}: {frame}");
        }
    }
    assert_eq!(lines.next(), None);
}

#[test]
fn every_chip_and_every_code_is_listed() {
    let chips = data("chips");
    let count = duskloom::chip::all().count();
    assert_eq!(chips.as_array().expect("chips").len(), count);
    let codes = data("explain");
    let known = duskloom::diagnostic::codes::all().count();
    assert_eq!(codes.as_array().expect("codes").len(), known);
}

/// A spreadsheet has the same parts as a script, field by field; what holds commas is quoted.
#[test]
fn the_parts_list_is_a_table_too() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let table = desk.run("wiring light.yaml --format csv").out;
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let head = reader.headers().expect("a line of headings").clone();
    assert_eq!(
        head.iter().collect::<Vec<_>>(),
        [
            "marks", "count", "kind", "value", "unit", "ratings", "what", "place"
        ]
    );
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a row")).collect();
    let data = data("wiring light.yaml");
    let parts = data["parts"].as_array().expect("a list");
    assert_eq!(rows.len(), parts.len());
    for (row, part) in rows.iter().zip(parts) {
        assert_eq!(row[1].parse().ok(), part["count"].as_u64(), "{part}");
        assert_eq!(part["kind"], row[2]);
        assert_eq!(
            row[3].parse().ok(),
            part["value"]["value"].as_f64(),
            "{part}"
        );
        assert_eq!(part["what"], row[6]);
        assert_eq!(part["place"], row[7]);
    }
}
