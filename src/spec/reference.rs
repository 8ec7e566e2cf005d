//! Every key of the grammar, out of the schema that editors read: the same types make both.

use std::collections::BTreeSet;

use serde::Serialize;
use serde_json::{Map, Value};

use super::read::{nearest, or_listed};
use super::schema_of_types;

/// A mapping of the grammar.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Section {
    /// Where it stands, such as `supply: regulator`; of a step, what it does. `NAME` is a name of your own.
    pub place: String,
    pub about: String,
    pub keys: Vec<Key>,
}

/// A key of a mapping.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Key {
    pub name: String,
    /// It cannot be left out.
    pub required: bool,
    /// What may stand there, with its unit and an example.
    pub value: String,
    /// What it means, and what holds where it is left out.
    pub about: String,
}

const MAPPING: &str = "a mapping";
const WORD: &str = "a word";

/// All mappings, the project itself first, each where it first appears.
pub fn reference() -> Vec<Section> {
    let schema = schema_of_types();
    let root = schema.as_value();
    let defs = root["$defs"].as_object().expect("types have names");
    let mut walk = Walk {
        defs,
        seen: BTreeSet::new(),
        sections: Vec::new(),
    };
    walk.mapping("", "project", root);
    walk.sections
}

/// The key that was probably meant, if one is near enough.
pub fn nearest_key<'k>(sections: &'k [Section], word: &str) -> Option<&'k str> {
    let keys = sections.iter().flat_map(|section| &section.keys);
    nearest(word, keys.map(|key| key.name.as_str()))
}

struct Walk<'a> {
    defs: &'a Map<String, Value>,
    /// Types that have a section.
    seen: BTreeSet<&'a str>,
    sections: Vec<Section>,
}

impl<'a> Walk<'a> {
    /// A mapping at a place, and all that it leads to.
    fn mapping(&mut self, path: &str, place: &str, schema: &'a Value) {
        let Some(properties) = schema["properties"].as_object() else {
            return;
        };
        let required: Vec<&str> = schema["required"].as_array().map_or_else(Vec::new, |all| {
            all.iter().filter_map(Value::as_str).collect()
        });
        let keys = properties.iter().map(|(name, value)| Key {
            name: name.clone(),
            required: required.contains(&name.as_str()),
            value: self.words(value),
            about: about(value),
        });
        self.sections.push(Section {
            place: place.to_string(),
            about: about(schema),
            keys: keys.collect(),
        });
        for (name, value) in properties {
            let path = if path.is_empty() {
                name.clone()
            } else {
                format!("{path}: {name}")
            };
            self.follow(&path, value, false);
        }
    }

    /// Whatever mappings a value leads to. `one_of_many`: it is one of several that may stand there.
    fn follow(&mut self, path: &str, value: &'a Value, one_of_many: bool) {
        if let Some((name, named)) = self.named(value) {
            if self.seen.insert(name) {
                self.follow(path, named, one_of_many);
            }
            return;
        }
        if let Some(properties) = value["properties"].as_object() {
            // A mapping of one key that leads to another mapping is that key's name alone.
            let first = value["required"][0].as_str().unwrap_or_default();
            let place = match one_of_many {
                true if !first.is_empty() => format!("{path}: {first}"),
                _ => path.to_string(),
            };
            if one_of_many && properties.len() == 1 && self.is_mapping(&properties[first]) {
                self.follow(&place, &properties[first], false);
            } else {
                self.mapping(path, &place, value);
            }
            return;
        }
        let choices = choices(value);
        let many = choices.iter().filter(|one| self.is_mapping(one)).count() > 1;
        for choice in choices {
            self.follow(path, choice, many);
        }
        if value["items"].is_object() {
            self.follow(path, &value["items"], one_of_many);
        }
        if value["additionalProperties"].is_object() {
            self.follow(
                &format!("{path}: NAME"),
                &value["additionalProperties"],
                false,
            );
        }
    }

    fn named(&self, value: &Value) -> Option<(&'a str, &'a Value)> {
        let name = value["$ref"].as_str()?.strip_prefix("#/$defs/")?;
        let (name, named) = self.defs.get_key_value(name)?;
        Some((name, named))
    }

    fn is_mapping(&self, value: &Value) -> bool {
        match self.named(value) {
            Some((_, named)) => self.is_mapping(named),
            None => value["properties"].is_object(),
        }
    }

    /// What may stand there.
    fn words(&self, value: &Value) -> String {
        if let Some((_, named)) = self.named(value) {
            return self.of_type(named);
        }
        self.of_type(value)
    }

    fn of_type(&self, value: &Value) -> String {
        if let Some(fixed) = value["const"].as_str() {
            return format!("`{fixed}`");
        }
        let choices: Vec<&Value> = choices(value)
            .into_iter()
            .filter(|one| one["type"] != "null")
            .collect();
        let fixed: Option<Vec<String>> = choices
            .iter()
            .map(|one| Some(format!("`{}`", one["const"].as_str()?)))
            .collect();
        if let Some(fixed) = fixed.filter(|fixed| !fixed.is_empty()) {
            return or_listed(&fixed);
        }
        // A plain value says itself what it may be.
        if value["properties"].is_null()
            && let Some(words) = value["description"].as_str()
            && words.contains(" such as ")
            && words.starts_with(char::is_lowercase)
        {
            return one_line(words);
        }
        if !choices.is_empty() {
            let mut words: Vec<String> = Vec::new();
            for one in choices.iter().map(|one| self.words(one)) {
                if !words.contains(&one) {
                    words.push(one);
                }
            }
            return or_listed(&words);
        }
        let is = |kind: &str| match &value["type"] {
            Value::Array(kinds) => kinds.iter().any(|one| one == kind),
            one => one == kind,
        };
        match () {
            () if is("array") => match self.words(&value["items"]).as_str() {
                MAPPING => "a list of mappings".to_string(),
                WORD => "a list of words".to_string(),
                each => format!("a list, of which each is {each}"),
            },
            () if value["additionalProperties"].is_object() => {
                format!("by name: {}", self.words(&value["additionalProperties"]))
            }
            () if is("object") => MAPPING.to_string(),
            () if is("integer") => "a whole number".to_string(),
            () if is("number") => "a number".to_string(),
            () if is("boolean") => "`true` or `false`".to_string(),
            () => WORD.to_string(),
        }
    }
}

fn choices(value: &Value) -> Vec<&Value> {
    let lists = ["anyOf", "oneOf"].into_iter();
    lists
        .filter_map(|list| value[list].as_array())
        .flatten()
        .collect()
}

fn about(value: &Value) -> String {
    one_line(value["description"].as_str().unwrap_or_default())
}

fn one_line(words: &str) -> String {
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}
