//! The schema, held to an independent validator: the crate `jsonschema`, JSON Schema 2020-12.

use std::fs;
use std::path::Path;

use duskloom::spec;
use jsonschema::Validator;
use serde_json::Value;

use crate::see::support::projects;

fn validator(library: bool) -> Validator {
    let schema = if library {
        spec::library_schema()
    } else {
        spec::schema()
    };
    jsonschema::validator_for(&schema.to_value()).expect("a sound schema")
}

fn read(path: &Path) -> Value {
    let text = fs::read_to_string(path).expect("a file");
    serde_yaml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn faults(validator: &Validator, value: &Value) -> Vec<String> {
    let told = validator.iter_errors(value);
    told.map(|error| format!("{error} at {}", error.instance_path()))
        .collect()
}

#[test]
fn the_schema_is_one_itself() {
    for schema in [spec::schema(), spec::library_schema()] {
        assert!(jsonschema::meta::is_valid(&schema.to_value()));
    }
}

/// Those without a chip are libraries of patterns.
#[test]
fn every_right_project_and_library_validates() {
    let (project, library) = (validator(false), validator(true));
    let folders = ["patterns", "patterns/library", "tests/right"];
    let mut seen = [0, 0];
    for path in folders.into_iter().flat_map(projects) {
        let value = read(&path);
        let is_library = value.get("chip").is_none();
        let validator = if is_library { &library } else { &project };
        assert_eq!(faults(validator, &value), [""; 0], "{}", path.display());
        seen[usize::from(is_library)] += 1;
    }
    assert!(seen[0] >= 4 && seen[1] >= 3, "{seen:?}");
}

/// Each is an error of the grammar itself, which the reader finds too.
#[test]
fn what_the_grammar_has_no_room_for_fails() {
    let validator = validator(false);
    for name in [
        "unknown-top-key",
        "unknown-button-key",
        "unknown-channel-key",
        "step-with-unknown-key",
        "step-with-unknown-deed",
        "missing-chip",
        "missing-channels",
        "curve-unknown",
        "ease-unknown",
        "wave-unknown-shape",
        "time-without-unit",
        "time-with-wrong-unit",
        "level-without-unit",
        "wrong-shape-charge-pump",
        "wrong-shape-step",
        "clock-unknown-source",
    ] {
        let path = Path::new("tests/wrong").join(name).with_extension("yaml");
        assert!(!validator.is_valid(&read(&path)), "{name}");
    }
}

/// An editor shows these while a person types.
#[test]
fn every_key_of_every_mapping_is_described() {
    for schema in [spec::schema(), spec::library_schema()] {
        let schema = schema.to_value();
        let definitions = schema["$defs"].as_object().expect("definitions");
        let mut keys = 0;
        for (name, mapping) in definitions
            .iter()
            .map(|(name, mapping)| (name.as_str(), mapping))
            .chain([("the whole", &schema)])
        {
            for (key, value) in mapping["properties"].as_object().into_iter().flatten() {
                assert!(value["description"].is_string(), "{name}: {key}");
                keys += 1;
            }
        }
        assert!(keys > 20);
    }
}
