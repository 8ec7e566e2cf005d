//! Which chips there are, and how their data files are read.

use std::sync::OnceLock;

use serde::Deserialize;
use serde_yaml::{Mapping, Value};

use super::Chip;

/// A data file: chips that differ in little.
struct Family {
    members: &'static [&'static str],
    yaml: &'static str,
    chips: OnceLock<Vec<Chip>>,
}

macro_rules! families {
    ($($file:literal: $($member:literal)+;)+) => {
        [$(Family {
            members: &[$($member),+],
            yaml: include_str!(concat!("data/", $file, ".yaml")),
            chips: OnceLock::new(),
        }),+]
    };
}

/// Every chip, by the file that describes it.
static FAMILIES: [Family; 8] = families! {
    "attiny13": "attiny13a";
    "attiny84": "attiny24a" "attiny44a" "attiny84a";
    "attiny85": "attiny25" "attiny45" "attiny85";
    "attiny2313": "attiny2313" "attiny2313a" "attiny4313";
    "attiny861": "attiny261a" "attiny461a" "attiny861a";
    "atmega8": "atmega8";
    "atmega328p": "atmega48" "atmega48a" "atmega48p" "atmega48pa"
        "atmega88" "atmega88a" "atmega88p" "atmega88pa"
        "atmega168" "atmega168a" "atmega168p" "atmega168pa" "atmega328" "atmega328p";
    "atmega32u4": "atmega32u4";
};

/// All chips, in the order of the families.
pub fn all() -> impl Iterator<Item = &'static Chip> {
    FAMILIES.iter().flat_map(Family::chips)
}

/// The chip of this name (lower case).
///
/// # Errors
/// The names nearest to it, best first, at most three.
pub fn find(name: &str) -> Result<&'static Chip, Vec<&'static str>> {
    let home = FAMILIES
        .iter()
        .find(|family| family.members.contains(&name));
    match home.and_then(|family| family.chips().iter().find(|chip| chip.name == name)) {
        Some(chip) => Ok(chip),
        None => Err(nearest(name)),
    }
}

fn nearest(name: &str) -> Vec<&'static str> {
    let mut scored: Vec<(f64, &'static str)> = FAMILIES
        .iter()
        .flat_map(|family| family.members)
        .map(|&member| (strsim::jaro_winkler(name, member), member))
        .filter(|(score, _)| *score > 0.7)
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    scored
        .into_iter()
        .take(3)
        .map(|(_, member)| member)
        .collect()
}

/// How a data file is laid out: what the chips share, and what each has of its own.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    common: Value,
    chips: Mapping,
    /// Anchors that the chips refer to.
    #[serde(default, rename = "x-fuses")]
    _anchors: Value,
}

impl Family {
    fn chips(&'static self) -> &'static [Chip] {
        self.chips
            .get_or_init(|| read(self.yaml).expect("chip data files are tested"))
    }
}

/// The chips of a data file.
fn read(yaml: &str) -> Result<Vec<Chip>, serde_yaml::Error> {
    let file: File = serde_yaml::from_str(yaml)?;
    let chip = |(name, own): (Value, Value)| {
        let mut whole = file.common.clone();
        overlay(&mut whole, own);
        whole["name"] = name;
        serde_yaml::from_value(whole)
    };
    file.chips.into_iter().map(chip).collect()
}

/// Puts `own` over `base`: mappings are merged key by key, all else replaces.
fn overlay(base: &mut Value, own: Value) {
    match (base, own) {
        (Value::Mapping(base), Value::Mapping(own)) => {
            for (key, value) in own {
                match base.get_mut(&key) {
                    Some(under) => overlay(under, value),
                    None => {
                        base.insert(key, value);
                    }
                }
            }
        }
        (base, own) => *base = own,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_data_file_holds_the_chips_it_is_listed_for() {
        for family in &FAMILIES {
            let chips = read(family.yaml).unwrap_or_else(|error| panic!("{error}"));
            let names: Vec<&str> = chips.iter().map(|chip| chip.name.as_str()).collect();
            assert_eq!(names, family.members);
        }
    }

    #[test]
    fn a_mistyped_name_suggests_the_nearest() {
        assert_eq!(find("attiny2313b").unwrap_err()[0], "attiny2313");
        assert_eq!(find("atmega382p").unwrap_err()[0], "atmega328p");
        assert!(find("z80").unwrap_err().is_empty());
    }
}
