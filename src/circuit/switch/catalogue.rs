//! Transistors by name.

use std::sync::OnceLock;

use serde::Deserialize;

use super::{Bipolar, Device, Family, Mosfet};
use crate::units::{Coulombs, Farads, Ohms, Seconds, Volts};

/// A transistor that has a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// As a project writes it.
    pub name: String,
    /// The same chip in another package, or by another maker.
    pub also: Vec<String>,
    pub family: Family,
    /// What it drops when on; of a MOSFET nothing.
    pub saturation: Volts,
    /// What it resists when on; of a bipolar transistor nothing.
    pub resistance: Ohms,
    pub part: Device,
    /// Where the figures come from.
    pub source: String,
}

/// As the data file has it, with units in the names.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    name: String,
    #[serde(default)]
    also: Vec<String>,
    family: Family,
    bipolar: Option<BipolarLine>,
    mosfet: Option<MosfetLine>,
    source: String,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BipolarLine {
    saturation_mv: f64,
    base_emitter_mv: f64,
    delay_pc: f64,
    miller_pf: f64,
    transit_ns: f64,
    storage_ns: f64,
    gain: f64,
    #[serde(default)]
    built_in_ohm: f64,
    shunt_ohm: Option<f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MosfetLine {
    resistance_ohm: f64,
    threshold_v: f64,
    below_pf: f64,
    above_pf: f64,
    output_pf: f64,
}

/// All of them, in the data file's order.
///
/// # Panics
/// If the data file is not sound; a test reads it.
pub fn entries() -> &'static [Entry] {
    static ENTRIES: OnceLock<Vec<Entry>> = OnceLock::new();
    ENTRIES.get_or_init(|| {
        let lines: Vec<Line> =
            serde_yaml::from_str(include_str!("catalogue.yaml")).expect("the catalogue is sound");
        lines.into_iter().map(Entry::from).collect()
    })
}

/// The one of this name, however it is capitalised.
pub fn find(name: &str) -> Option<&'static Entry> {
    let same = |known: &String| known.eq_ignore_ascii_case(name);
    let mut entries = entries().iter();
    entries.find(|entry| same(&entry.name) || entry.also.iter().any(same))
}

/// The name that is most like this one, if any is.
pub fn nearest(name: &str) -> Option<&'static str> {
    let name = name.to_lowercase();
    let alike = |known: &str| strsim::jaro_winkler(&name, known);
    let best = names().max_by(|a, b| alike(a).total_cmp(&alike(b)))?;
    (alike(best) > ALIKE).then_some(best)
}

/// Names less alike than this were not meant.
const ALIKE: f64 = 0.85;

/// Every name that is known, other packages' included.
pub fn names() -> impl Iterator<Item = &'static str> {
    let all = entries().iter();
    all.flat_map(|entry| std::iter::once(&entry.name).chain(&entry.also))
        .map(String::as_str)
}

impl From<Line> for Entry {
    fn from(line: Line) -> Self {
        let (part, saturation, resistance) = match (line.bipolar, line.mosfet) {
            (Some(figures), None) => (
                Device::Bipolar(figures.part(line.family)),
                Volts(figures.saturation_mv * 1e-3),
                Ohms(0.0),
            ),
            (None, Some(figures)) => (
                Device::Mosfet(figures.part()),
                Volts(0.0),
                Ohms(figures.resistance_ohm),
            ),
            _ => panic!("`{}` is either bipolar or a MOSFET", line.name),
        };
        Self {
            name: line.name,
            also: line.also,
            family: line.family,
            saturation,
            resistance,
            part,
            source: line.source,
        }
    }
}

impl BipolarLine {
    fn part(&self, family: Family) -> Bipolar {
        Bipolar {
            base_emitter: Volts(self.base_emitter_mv * 1e-3),
            delay: Coulombs(self.delay_pc * 1e-12),
            miller: Farads(self.miller_pf * 1e-12),
            transit: Seconds(self.transit_ns * 1e-9),
            storage: Seconds(self.storage_ns * 1e-9),
            gain: self.gain,
            built_in: Ohms(self.built_in_ohm),
            shunt: Ohms(self.shunt_ohm.unwrap_or(f64::INFINITY)),
            junctions: if family == Family::Darlington {
                2.0
            } else {
                1.0
            },
        }
    }
}

impl MosfetLine {
    fn part(&self) -> Mosfet {
        Mosfet {
            threshold: Volts(self.threshold_v),
            below: Farads(self.below_pf * 1e-12),
            above: Farads(self.above_pf * 1e-12),
            output: Farads(self.output_pf * 1e-12),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_name_is_one_part_and_has_its_source() {
        let all: Vec<_> = names().collect();
        let different: BTreeSet<_> = all.iter().map(|name| name.to_lowercase()).collect();
        assert_eq!(all.len(), different.len());
        for entry in entries() {
            assert!(entry.source.len() > 20, "{}", entry.name);
            let mosfet = matches!(entry.part, Device::Mosfet(_));
            assert_eq!(mosfet, entry.family == Family::Mosfet, "{}", entry.name);
        }
        assert_eq!(
            find("MMBT3904").map(|entry| entry.name.as_str()),
            Some("2n3904")
        );
        assert_eq!(find("2n9999"), None);
    }
}
