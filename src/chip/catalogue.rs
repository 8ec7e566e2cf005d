//! Which chips there are, and how their data files are read.

use std::sync::OnceLock;

use serde::Deserialize;
use serde_yaml::{Mapping, Value};

use super::Chip;

/// A data file: chips that differ in little. Read once, and each chip made when asked for.
struct Family {
    members: &'static [&'static str],
    yaml: &'static str,
    file: OnceLock<File>,
    /// By member.
    chips: OnceLock<Vec<OnceLock<Chip>>>,
}

macro_rules! families {
    ($($file:literal: $($member:literal)+;)+) => {
        [$(Family {
            members: &[$($member),+],
            yaml: include_str!(concat!("data/", $file, ".yaml")),
            file: OnceLock::new(),
            chips: OnceLock::new(),
        }),+]
    };
}

/// Every chip, by the file that describes it.
static FAMILIES: [Family; 8] = families! {
    "attiny13": "attiny13a";
    "attiny84": "attiny24" "attiny24a" "attiny44" "attiny44a" "attiny84" "attiny84a";
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
    FAMILIES
        .iter()
        .flat_map(|family| (0..family.members.len()).map(|index| family.chip(index)))
}

/// The families that have a chip of this kind: `ATtiny85, ATmega8`.
pub fn families(can: impl Fn(&Chip) -> bool) -> String {
    let chips = all().filter(|chip| can(chip));
    let mut titles: Vec<&str> = chips.map(|chip| chip.family.as_str()).collect();
    titles.dedup();
    titles.join(", ")
}

/// The chip of this name (lower case).
///
/// # Errors
/// The names nearest to it, best first, at most three.
pub fn find(name: &str) -> Result<&'static Chip, Vec<&'static str>> {
    let found = FAMILIES.iter().find_map(|family| {
        let index = family.members.iter().position(|member| *member == name)?;
        Some(family.chip(index))
    });
    found.ok_or_else(|| nearest(name))
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
    fn chip(&'static self, member: usize) -> &'static Chip {
        let chips = self
            .chips
            .get_or_init(|| self.members.iter().map(|_| OnceLock::new()).collect());
        chips[member].get_or_init(|| {
            let file = self
                .file
                .get_or_init(|| read(self.yaml).expect("chip data is tested"));
            file.chip(self.members[member])
                .expect("chip data is tested")
        })
    }
}

fn read(yaml: &str) -> Result<File, serde_yaml::Error> {
    serde_yaml::from_str(yaml)
}

impl File {
    fn chip(&self, name: &str) -> Result<Chip, serde_yaml::Error> {
        let mut whole = self.common.clone();
        overlay(
            &mut whole,
            self.chips.get(name).cloned().unwrap_or_default(),
        );
        whole["name"] = name.into();
        serde_yaml::from_value(whole)
    }
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
            let file = read(family.yaml).unwrap_or_else(|error| panic!("{error}"));
            let names: Vec<&str> = file.chips.keys().filter_map(Value::as_str).collect();
            assert_eq!(names, family.members);
            for name in names {
                let chip = file
                    .chip(name)
                    .unwrap_or_else(|error| panic!("{name}: {error}"));
                assert_eq!(chip.name, name);
            }
        }
    }

    #[test]
    fn a_mistyped_name_suggests_the_nearest() {
        assert_eq!(find("attiny2313b").unwrap_err()[0], "attiny2313");
        assert_eq!(find("atmega382p").unwrap_err()[0], "atmega328p");
        assert!(find("z80").unwrap_err().is_empty());
    }
}
