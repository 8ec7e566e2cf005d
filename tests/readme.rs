//! What README.md says is true: its commands print what stands below them, and its projects build.
//!
//! `TRYCMD=overwrite cargo test --test it readme` writes the output anew.

use std::collections::BTreeSet;
use std::path::Path;

use crate::common::designs;
use duskloom::budget::budget;
use duskloom::row::Judgement;
use duskloom::spec;
use serde_json::Value;

const README: &str = include_str!("../README.md");

/// Blocks marked `console` are run; those marked `console,ignore` need what not everybody has.
#[test]
fn its_commands_print_what_it_quotes() {
    trycmd::TestCases::new()
        .register_bin("grep", Path::new("/usr/bin/grep"))
        .case("README.md");
}

/// Blocks marked `yaml` are whole projects.
fn projects() -> impl Iterator<Item = &'static str> {
    README
        .split("```yaml\n")
        .skip(1)
        .filter_map(|block| block.split_once("```"))
        .map(|(project, _)| project)
}

#[test]
fn its_projects_build() {
    assert!(projects().next().is_some());
    for text in projects() {
        let design = designs::from_text("readme.yaml", text);
        let over: Vec<_> = budget(&design)
            .rows
            .into_iter()
            .filter(|row| row.verdict == Judgement::Over)
            .collect();
        assert!(over.is_empty(), "{over:#?}");
    }
}

/// In an example, or with a line of its own in the table of what the examples leave out.
#[test]
fn it_explains_every_key_of_the_grammar() {
    let mut keys = BTreeSet::new();
    for schema in [spec::schema(), spec::library_schema()] {
        collect_keys(&schema.to_value(), &mut keys);
    }
    assert!(keys.len() > 80, "the schema has its keys: {keys:?}");
    let shown: BTreeSet<&str> = projects().flat_map(keys_in).collect();
    let rows = README.lines().filter(|line| line.starts_with("| `"));
    let told: BTreeSet<&str> = rows
        .filter_map(|row| row.split(" | ").next())
        .flat_map(keys_in)
        .collect();
    let missing: Vec<&String> = keys
        .iter()
        .filter(|key| !shown.contains(key.as_str()) && !told.contains(key.as_str()))
        .collect();
    assert!(missing.is_empty(), "README.md says nothing of {missing:?}");
}

/// The words before a colon, and those alone between backticks.
fn keys_in(text: &str) -> impl Iterator<Item = &str> {
    let word = |c: char| c.is_ascii_lowercase() || c == '_';
    let before_colons = text
        .split(':')
        .map(move |part| part.rsplit(|c| !word(c)).next().unwrap_or_default());
    let quoted = text.split('`').filter(move |part| part.chars().all(word));
    before_colons.chain(quoted).filter(|key| !key.is_empty())
}

/// Of all mappings in a schema, at any depth.
fn collect_keys(schema: &Value, keys: &mut BTreeSet<String>) {
    match schema {
        Value::Object(map) => {
            if let Some(Value::Object(properties)) = map.get("properties") {
                keys.extend(properties.keys().cloned());
            }
            map.values().for_each(|value| collect_keys(value, keys));
        }
        Value::Array(items) => items.iter().for_each(|item| collect_keys(item, keys)),
        _ => {}
    }
}
