//! The reference of the grammar.

use duskloom::spec;
use serde_json::Value;

use crate::cli::support::Desk;

#[test]
fn the_reference_reads_well() {
    let desk = Desk::new();
    for key in ["wave", "battery", "spread"] {
        insta::assert_snapshot!(
            format!("keys_{key}"),
            desk.run(&format!("keys {key}")).shown()
        );
    }
    insta::assert_snapshot!("keys_misspelt", desk.run("keys batery").shown());
}

/// Each key of the schema is told, with what may stand there and what it means.
#[test]
fn no_key_is_left_out() {
    fn keys(value: &Value, all: &mut Vec<String>) {
        if let Some(properties) = value["properties"].as_object() {
            all.extend(properties.keys().cloned());
        }
        let inner: Vec<&Value> = match value {
            Value::Object(fields) => fields.values().collect(),
            Value::Array(items) => items.iter().collect(),
            _ => Vec::new(),
        };
        inner.into_iter().for_each(|value| keys(value, all));
    }
    let mut all = Vec::new();
    keys(spec::schema().as_value(), &mut all);
    let told = spec::reference();
    let told: Vec<&spec::Key> = told.iter().flat_map(|section| &section.keys).collect();
    assert!(all.len() > 80, "{all:?}");
    for key in all {
        // One key that names a show, and nothing else, is part of a place.
        let named = spec::reference()
            .iter()
            .any(|section| section.place.split(": ").any(|part| part == key));
        let own = told.iter().find(|own| own.name == key);
        assert!(
            named || own.is_some_and(|own| !own.value.is_empty() && !own.about.is_empty()),
            "{key}"
        );
    }
}

/// What the README says of a key, it says of one that there is.
#[test]
fn the_readme_names_keys_that_there_are() {
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/README.md"));
    let readme = readme.expect("the README");
    let (_, table) = readme
        .split_once("| key | what it says | else |\n")
        .expect("a table");
    let (table, _) = table.split_once("\n\n").expect("its end");
    let reference = spec::reference();
    let known = |name: &str| {
        let mut keys = reference.iter().flat_map(|section| &section.keys);
        keys.any(|key| key.name == name)
            || reference
                .iter()
                .any(|section| section.place.ends_with(name))
    };
    let mut count = 0;
    for row in table.lines().skip(1) {
        let cell = row.split('|').nth(1).expect("a cell");
        for code in cell.split('`').skip(1).step_by(2) {
            let name = code.split(':').next().expect("a name");
            assert!(known(name), "{row}");
            count += 1;
        }
    }
    assert!(count > 40, "{count}");
}
