//! What a new project begins with on a chip: pins that exist, and no more than it has room for.

mod pins;
mod refusal;
mod trial;
mod words;

use std::collections::BTreeMap;

use duskloom::chip::{Chip, Pin};
use minijinja::value::Serde;
use minijinja::{Environment, Value};
use serde::Serialize;

use pins::Pins;
pub(super) use refusal::Refusal;
pub(super) use words::{WORDS, Word};

const TEMPLATE: &str = include_str!("../../../templates/new.yaml.j2");

/// What the template of a new project says of the chip.
#[derive(Debug, Serialize)]
pub(super) struct Beginning {
    name: String,
    chip: &'static str,
    /// The one it makes by itself unless told otherwise.
    clock: String,
    strings: Vec<StringText>,
    /// Strings that gave up their pins to what else there is.
    given_up: usize,
    /// How many patterns and shows.
    extent: Extent,
    /// What is there by word, and its pin.
    has: BTreeMap<&'static str, bool>,
    pin: BTreeMap<&'static str, String>,
    /// Of what is there, something is an input; something plays a pattern once.
    inputs: bool,
    plays: bool,
}

#[derive(Debug, Serialize)]
struct StringText {
    name: &'static str,
    /// Its name and a colon, as wide as the widest.
    key: String,
    pin: String,
    /// What follows the pin.
    also: &'static str,
}

/// The strings, and what each shows of the grammar.
const STRINGS: [(&str, &str); 4] = [
    ("left", ", group: pair"),
    ("right", ", group: pair"),
    ("middle", ""),
    ("top", ", trim: 80 %"),
];

/// Where there is one.
const ALONE: [(&str, &str); 1] = [("lamp", "")];

/// How many patterns and shows there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
enum Extent {
    /// Those with chance as well, and a show that roams.
    All,
    /// Those that are the same each time.
    Some,
    /// Two of those, in one show.
    Few,
}

impl Beginning {
    /// With the most strings and patterns that go with these words.
    ///
    /// # Errors
    /// They cannot all be had on the chip.
    pub(super) fn with(
        chip: &'static Chip,
        name: &str,
        asked: &[&'static Word],
    ) -> Result<Self, Refusal> {
        let words = Word::all(asked);
        if let Some((word, need)) = words
            .iter()
            .find_map(|word| Some((word, word.lacks(chip)?)))
        {
            return Err(Refusal::lacks(chip, word, need));
        }
        let mut fault = None;
        for pins in pins::choices(chip, STRINGS.len(), &words) {
            for extent in [Extent::All, Extent::Some, Extent::Few] {
                let beginning = Self::of(chip, name, &words, &pins, extent);
                match trial::fault(&beginning.text()) {
                    None => return Ok(beginning),
                    Some(found) => fault = Some(found),
                }
            }
        }
        Err(match fault {
            None => Refusal::pins(chip, &words),
            Some(fault) => Refusal::room(chip, &words, &fault),
        })
    }

    fn of(
        chip: &'static Chip,
        name: &str,
        words: &[&'static Word],
        pins: &Pins,
        extent: Extent,
    ) -> Self {
        let names: &[_] = if pins.strings.len() > 1 {
            &STRINGS
        } else {
            &ALONE
        };
        let strings = names.iter().zip(&pins.strings);
        let usual = pins::choices(chip, STRINGS.len(), &Word::all(&[])).next();
        let usual = usual.map_or(0, |usual| usual.strings.len());
        let text = |(name, also): &(&'static str, &'static str), pin: &Pin| StringText {
            name,
            key: format!("{:<8}", format!("{name}:")),
            pin: pin.to_string(),
            also,
        };
        let pin = pins.words.iter();
        Self {
            name: name.to_string(),
            chip: &chip.name,
            clock: chip.clocks.internal[0].hertz.to_string(),
            strings: strings.map(|(string, pin)| text(string, pin)).collect(),
            given_up: usual.saturating_sub(pins.strings.len()),
            extent,
            has: words.iter().map(|word| (word.word, true)).collect(),
            pin: pin.map(|(word, pin)| (*word, pin.to_string())).collect(),
            inputs: words.iter().any(|word| word.is_input),
            plays: words.iter().any(|word| word.plays),
        }
    }

    /// The project's text, without the line break at its end.
    pub(super) fn text(&self) -> String {
        let context = Value::from(Serde(self));
        Environment::new()
            .render_str(TEMPLATE, context)
            .expect("the template is tested with every chip")
    }
}
