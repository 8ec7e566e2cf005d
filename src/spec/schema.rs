//! The JSON Schema of the grammar, as editors take it best. What the types give tells a step's kinds as
//! alternatives, of which an editor knows only the first when a key is misspelt, and offers each twice, as a key
//! and as a kind; here they are one mapping with all keys.

use schemars::Schema;
use serde_json::{Map, Value, json};

/// With mappings that are alternatives in one, without `null` for what is left out, and with names that a person
/// reads.
pub(super) fn tidied(schema: Schema, title: &str) -> Schema {
    let whole = schema.to_value();
    let defs = whole["$defs"].as_object().cloned().unwrap_or_default();
    let mut tidy = tidy(&defs, whole);
    tidy["title"] = title.into();
    Schema::try_from(tidy).expect("a mapping stays one")
}

fn tidy(defs: &Map<String, Value>, value: Value) -> Value {
    match value {
        Value::Array(list) => list.into_iter().map(|one| tidy(defs, one)).collect(),
        Value::Object(mapping) => {
            let named = mapping.into_iter().map(|(key, value)| {
                let value = match (key.as_str(), value) {
                    ("$ref", Value::String(path)) => Value::String(renamed(&path)),
                    ("$defs", Value::Object(all)) => all
                        .into_iter()
                        .map(|(name, one)| (kebab(&name), tidy(defs, one)))
                        .collect(),
                    // A `const` may be anything, and says no schema.
                    ("const" | "default" | "examples", value) => value,
                    (_, value) => tidy(defs, value),
                };
                (key, value)
            });
            Value::Object(one_mapping(defs, without_null(named.collect())))
        }
        other => other,
    }
}

fn renamed(path: &str) -> String {
    match path.rsplit_once('/') {
        Some((before, name)) => format!("{before}/{}", kebab(name)),
        None => path.to_string(),
    }
}

/// `LedString` is `led-string`: an editor shows it.
fn kebab(name: &str) -> String {
    let mut text = String::new();
    for c in name.chars() {
        if c.is_ascii_uppercase() && !text.is_empty() {
            text.push('-');
        }
        text.push(c.to_ascii_lowercase());
    }
    text
}

/// A key that may be left out need not be given as nothing.
fn without_null(mut schema: Map<String, Value>) -> Map<String, Value> {
    if let Some(Value::Array(types)) = schema.get_mut("type") {
        types.retain(|one| one != "null");
        if let [only] = types.as_slice() {
            schema["type"] = only.clone();
        }
    }
    if let Some(Value::Array(choices)) = schema.get_mut("anyOf") {
        choices.retain(|one| *one != json!({ "type": "null" }));
        if let [Value::Object(only)] = choices.as_slice() {
            let only = only.clone();
            schema.remove("anyOf");
            for (key, value) in only {
                schema.entry(key).or_insert(value);
            }
        }
    }
    schema
}

/// Alternatives that are all mappings with keys of their own, as one with the keys of all: the first key that one of
/// them needs needs its others.
fn one_mapping(defs: &Map<String, Value>, mut schema: Map<String, Value>) -> Map<String, Value> {
    let mut lists = ["anyOf", "oneOf"].into_iter();
    let found = lists.find_map(|list| Some((list, mappings(defs, schema.get(list)?)?)));
    let Some((list, mappings)) = found else {
        return schema;
    };
    let keys = |one: &&Value| one["properties"].as_object().map_or(0, Map::len);
    let alone = mappings.iter().all(|one| keys(one) == 1);
    let mut properties = Map::new();
    let mut needs = Map::new();
    for mapping in mappings {
        for (key, value) in mapping["properties"].as_object().into_iter().flatten() {
            let mut value = tidy(defs, value.clone());
            // What an alternative says of itself, it says of its key.
            if value.get("description").is_none()
                && let Some(about) = mapping.get("description")
            {
                value["description"] = about.clone();
            }
            properties.entry(key.clone()).or_insert(value);
        }
        if let Some([first, others @ ..]) = mapping["required"].as_array().map(Vec::as_slice)
            && !others.is_empty()
        {
            let first = first.as_str().unwrap_or_default();
            needs.insert(first.to_string(), others.into());
        }
    }
    schema.remove(list);
    schema.insert("type".into(), "object".into());
    schema.insert("properties".into(), properties.into());
    schema.insert("additionalProperties".into(), false.into());
    schema.insert("minProperties".into(), 1.into());
    if alone {
        schema.insert("maxProperties".into(), 1.into());
    }
    if !needs.is_empty() {
        schema.insert("dependentRequired".into(), needs.into());
    }
    schema
}

/// `None`: one of them is something else. They may be tidy already, or not.
fn mappings<'a>(defs: &'a Map<String, Value>, choices: &'a Value) -> Option<Vec<&'a Value>> {
    let named = |choice: &'a Value| {
        let Some(path) = choice["$ref"].as_str() else {
            return Some(choice);
        };
        let name = path.rsplit('/').next()?;
        let (_, found) = defs.iter().find(|(other, _)| kebab(other) == kebab(name))?;
        Some(found)
    };
    let all: Option<Vec<&Value>> = choices.as_array()?.iter().map(named).collect();
    all.filter(|all| {
        all.iter()
            .all(|one| one["type"] == "object" && one["properties"].is_object())
    })
}
