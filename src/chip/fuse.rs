//! Fuse bytes: what is delivered, and what each bit does.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;
use serde::de::{Deserializer, Error};

use super::register::{bit_named, bits_from};

/// A fuse byte. A fuse that is *programmed* reads 0.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FuseByte {
    /// `low`, `high` or `extended`.
    pub name: String,
    /// As delivered.
    pub factory: u8,
    /// Bit names by number.
    #[serde(deserialize_with = "layout")]
    pub bits: [Option<String>; 8],
}

fn layout<'de, D: Deserializer<'de>>(deserializer: D) -> Result<[Option<String>; 8], D::Error> {
    bits_from(&String::deserialize(deserializer)?).map_err(D::Error::custom)
}

/// What a fuse does when programmed.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FuseMeaning {
    pub does: String,
    /// Programmed, or unprogrammed, it shuts out an ordinary programmer.
    #[serde(default)]
    pub locks_out: Option<Programmed>,
}

/// The state of a fuse bit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Programmed {
    Programmed,
    Unprogrammed,
}

impl FuseByte {
    /// What avrdude calls the byte.
    pub fn memory(&self) -> &'static str {
        match self.name.as_str() {
            "low" => "lfuse",
            "high" => "hfuse",
            _ => "efuse",
        }
    }

    /// The number of the bit called so.
    pub fn bit(&self, name: &str) -> Option<u8> {
        bit_named(&self.bits, name)
    }
}

impl FuseMeaning {
    /// What the fuse bit of this name does.
    pub fn of(name: &str) -> Option<&'static Self> {
        static MEANINGS: OnceLock<BTreeMap<String, FuseMeaning>> = OnceLock::new();
        let meanings = MEANINGS.get_or_init(|| {
            serde_yaml::from_str(include_str!("data/fuses.yaml")).expect("fuses.yaml is tested")
        });
        meanings.get(name)
    }

    /// Whether this state of the bit shuts out an ordinary programmer.
    pub fn locks_out_at(&self, programmed: bool) -> bool {
        match self.locks_out {
            None => false,
            Some(Programmed::Programmed) => programmed,
            Some(Programmed::Unprogrammed) => !programmed,
        }
    }
}
