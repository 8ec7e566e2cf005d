//! The demos and their libraries, taken together, use the whole grammar.

use std::collections::BTreeSet;

use serde_json::Value;

use crate::demos::support::{demos, libraries, root};

/// Words that three projects cannot all use, as each has one curve, one PWM mode and at most one kind of
/// cell, and few colours, and what is the default anyway; and what no demo may do.
const ELSEWHERE: &[&str] = &[
    "timer",
    "logarithmic",
    "power",
    "auto",
    "fast",
    "high",
    "dimmed",
    "accepted",
    "plain",
    "aaa",
    "nimh",
    "nine-volt",
    "cr2032",
    "red",
    "candle",
    "neutral-white",
    "cool-white",
    "cyan",
    "violet",
    "warm white",
    "neutral white",
    "cool white",
];

#[test]
fn every_key_is_used() {
    let schema = serde_json::to_value(duskloom::spec::schema()).expect("JSON");
    let mut known = BTreeSet::new();
    keys_of_schema(&schema, &mut known);
    assert!(known.len() > 40, "the schema names its keys: {known:?}");
    let used = used();
    let unused: Vec<_> = known
        .difference(&used)
        .filter(|key| !is_elsewhere(key))
        .collect();
    assert!(unused.is_empty(), "no demo uses {unused:?}");
}

#[test]
fn every_word_is_used() {
    let schema = serde_json::to_value(duskloom::spec::schema()).expect("JSON");
    let mut known = BTreeSet::new();
    words_of_schema(&schema, &mut known);
    assert!(
        known.contains("soft-in"),
        "the schema lists its words: {known:?}"
    );
    let used = used();
    let unused: Vec<_> = known
        .difference(&used)
        .filter(|word| !is_elsewhere(word))
        .collect();
    assert!(unused.is_empty(), "no demo uses {unused:?}");
}

fn is_elsewhere(word: &&String) -> bool {
    ELSEWHERE.contains(&word.as_str())
}

/// All keys and all values of all demos and libraries.
fn used() -> BTreeSet<String> {
    let mut used = BTreeSet::new();
    for file in demos().into_iter().chain(libraries()) {
        let text = std::fs::read_to_string(root().join(file)).expect("a text");
        words(&serde_yaml::from_str(&text).expect("YAML"), &mut used);
    }
    used
}

fn words(value: &serde_yaml::Value, found: &mut BTreeSet<String>) {
    match value {
        serde_yaml::Value::String(text) => {
            found.insert(text.clone());
        }
        serde_yaml::Value::Sequence(items) => items.iter().for_each(|item| words(item, found)),
        serde_yaml::Value::Mapping(entries) => entries.iter().for_each(|(key, value)| {
            words(key, found);
            words(value, found);
        }),
        _ => {}
    }
}

fn keys_of_schema(schema: &Value, found: &mut BTreeSet<String>) {
    visit(schema, &mut |object| {
        if let Some(Value::Object(properties)) = object.get("properties") {
            found.extend(properties.keys().cloned());
        }
    });
}

fn words_of_schema(schema: &Value, found: &mut BTreeSet<String>) {
    visit(schema, &mut |object| {
        let listed = object
            .get("enum")
            .and_then(Value::as_array)
            .into_iter()
            .flatten();
        let words = listed.chain(object.get("const")).filter_map(Value::as_str);
        found.extend(words.map(str::to_string));
    });
}

fn visit(schema: &Value, look: &mut dyn FnMut(&serde_json::Map<String, Value>)) {
    match schema {
        Value::Object(object) => {
            look(object);
            object.values().for_each(|value| visit(value, look));
        }
        Value::Array(items) => items.iter().for_each(|item| visit(item, look)),
        _ => {}
    }
}
