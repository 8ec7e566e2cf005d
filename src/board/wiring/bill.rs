//! What to buy.

use std::collections::BTreeMap;
use std::fmt;

use serde::Serialize;

use crate::units::{Amps, Farads, Hertz, Ohms, Volts, Watts};

/// A line of the parts list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Item {
    /// What the circuit's drawing calls them, such as `R1`; one each.
    pub marks: Vec<String>,
    pub count: u32,
    pub kind: ItemKind,
    /// What is written on it, or what it drops; `None`: it has a name instead.
    pub value: Option<Figure>,
    /// What it must stand, at the least.
    pub ratings: Vec<Figure>,
    /// All of that as a person reads it, such as `330 ohm, 250 mW or more`.
    pub what: String,
    /// Where it goes.
    pub place: String,
}

impl Item {
    /// The marks as a person writes them: `R1`, or `R1-R4`.
    pub fn marked(&self) -> String {
        match &self.marks[..] {
            [] => String::new(),
            [one] => one.clone(),
            [first, .., last] => format!("{first}-{last}"),
        }
    }
}

/// Sorts of parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ItemKind {
    Chip,
    Resistor,
    Potentiometer,
    Photoresistor,
    Capacitor,
    Led,
    Diode,
    Transistor,
    Regulator,
    Crystal,
    Button,
    Contact,
    Switch,
    Cell,
    Fuse,
    Connector,
}

impl ItemKind {
    /// In data.
    pub fn text(self) -> &'static str {
        match self {
            Self::Chip => "chip",
            Self::Resistor => "resistor",
            Self::Potentiometer => "potentiometer",
            Self::Photoresistor => "photoresistor",
            Self::Capacitor => "capacitor",
            Self::Led => "led",
            Self::Diode => "diode",
            Self::Transistor => "transistor",
            Self::Regulator => "regulator",
            Self::Crystal => "crystal",
            Self::Button => "button",
            Self::Contact => "contact",
            Self::Switch => "switch",
            Self::Cell => "cell",
            Self::Fuse => "fuse",
            Self::Connector => "connector",
        }
    }

    /// Class designation letters of IEEE Std 315 (from memory).
    fn letters(self) -> &'static str {
        match self {
            Self::Chip | Self::Regulator => "U",
            Self::Resistor | Self::Photoresistor => "R",
            // RV in its international relatives.
            Self::Potentiometer => "RV",
            Self::Capacitor => "C",
            Self::Led | Self::Diode => "D",
            Self::Transistor => "Q",
            Self::Crystal => "Y",
            Self::Button | Self::Contact | Self::Switch => "S",
            Self::Cell => "BT",
            Self::Fuse => "F",
            Self::Connector => "J",
        }
    }
}

/// A number and its unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figure {
    #[serde(serialize_with = "without_noise")]
    pub value: f64,
    pub unit: &'static str,
}

/// To nine digits: `1.8e-11`, not `1.8000000000000002e-11`.
fn short(value: f64) -> f64 {
    format!("{value:.8e}").parse().expect("a number")
}

fn without_noise<S: serde::Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_f64(short(*value))
}

impl Figure {
    /// Without its unit.
    pub fn number(&self) -> String {
        match short(self.value) {
            tiny if tiny != 0.0 && tiny.abs() < 1e-3 => format!("{tiny:e}"),
            usual => usual.to_string(),
        }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.number(), self.unit)
    }
}

macro_rules! figures {
    ($($quantity:ident $unit:literal),* $(,)?) => {
        $(impl From<$quantity> for Figure {
            fn from(quantity: $quantity) -> Self {
                Self { value: quantity.0, unit: $unit }
            }
        })*
    };
}

figures!(Ohms "ohm", Farads "F", Volts "V", Amps "A", Watts "W", Hertz "Hz");

/// What is known of a part before it has a place.
#[derive(Debug, Clone)]
pub(super) struct Want {
    kind: ItemKind,
    value: Option<Figure>,
    ratings: Vec<Figure>,
    what: String,
}

impl Want {
    /// A part that is told by name.
    pub(super) fn named(kind: ItemKind, what: impl Into<String>) -> Self {
        Self {
            kind,
            value: None,
            ratings: Vec::new(),
            what: what.into(),
        }
    }

    /// A part that is told by what is written on it.
    pub(super) fn valued(kind: ItemKind, value: impl Into<Figure> + ToString, words: &str) -> Self {
        let what = value.to_string() + words;
        Self {
            kind,
            value: Some(value.into()),
            ratings: Vec::new(),
            what,
        }
    }

    pub(super) fn resistor(ohms: Ohms) -> Self {
        Self::valued(ItemKind::Resistor, ohms, "")
    }

    pub(super) fn potentiometer(track: Ohms) -> Self {
        Self::valued(ItemKind::Potentiometer, track, " potentiometer, linear")
    }

    pub(super) fn ceramic(farads: Farads) -> Self {
        Self::valued(ItemKind::Capacitor, farads, " ceramic")
    }

    pub(super) fn capacitor(farads: Farads) -> Self {
        Self::valued(ItemKind::Capacitor, farads, "")
    }

    /// What is written on it, where that is not what it is called.
    pub(super) fn of(self, value: impl Into<Figure>) -> Self {
        Self {
            value: Some(value.into()),
            ..self
        }
    }

    /// It must stand so much.
    pub(super) fn standing(mut self, rating: impl Into<Figure> + ToString) -> Self {
        self.what += &format!(", {}", rating.to_string());
        self.ratings.push(rating.into());
        self
    }

    /// The ratings are the least that will do.
    pub(super) fn or_more(mut self) -> Self {
        if !self.ratings.is_empty() {
            self.what += " or more";
        }
        self
    }
}

/// The parts list as it is written: every part gets its mark.
#[derive(Debug, Default)]
pub(super) struct Bill {
    items: Vec<Item>,
    /// Marks given, by their letters.
    given: BTreeMap<&'static str, u32>,
}

impl Bill {
    /// So many of a part; gives their marks, as [`Item::marked`] has them.
    pub(super) fn add(&mut self, count: u32, want: Want, place: impl Into<String>) -> String {
        let letters = want.kind.letters();
        let given = self.given.entry(letters).or_default();
        let numbers = *given + 1..=*given + count;
        *given += count;
        let item = Item {
            marks: numbers.map(|number| format!("{letters}{number}")).collect(),
            count,
            kind: want.kind,
            value: want.value,
            ratings: want.ratings,
            what: want.what,
            place: place.into(),
        };
        let marks = item.marked();
        self.items.push(item);
        marks
    }

    pub(super) fn items(self) -> Vec<Item> {
        self.items
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_letter_counts_for_itself() {
        let mut bill = Bill::default();
        assert_eq!(bill.add(1, Want::resistor(Ohms(330.0)), "here"), "R1");
        assert_eq!(bill.add(2, Want::ceramic(Farads(1e-7)), "there"), "C1-C2");
        assert_eq!(bill.add(3, Want::resistor(Ohms(1e3)), "there"), "R2-R4");
        let items = bill.items();
        assert_eq!(items[2].marks, ["R2", "R3", "R4"]);
        assert_eq!(items[1].what, "100 nF ceramic");
    }

    #[test]
    fn ratings_are_words_and_data() {
        let want = Want::resistor(Ohms(330.0)).standing(Watts(0.25)).or_more();
        assert_eq!(want.what, "330 ohm, 250 mW or more");
        let data = serde_json::to_value(&want.ratings).expect("data");
        assert_eq!(data, serde_json::json!([{"value": 0.25, "unit": "W"}]));
    }
}
