//! Why there is no such beginning, and on which chips there is.

use std::cmp::Reverse;

use duskloom::chip::{self, Chip};

use super::words::{Need, Word};
use super::{Beginning, pins};

/// What was asked for cannot be had on the chip.
#[derive(Debug)]
pub(in crate::cli) struct Refusal {
    /// A sentence without a full stop.
    pub message: String,
    chip: &'static Chip,
}

/// So many chips are named that could have it.
const NAMED: usize = 3;

impl Refusal {
    pub(super) fn lacks(chip: &'static Chip, word: &Word, need: Need) -> Self {
        let (title, word, lacking) = (&chip.title, word.word, need.lacking());
        let message = format!("{title} cannot have `{word}`: {lacking}");
        Self { message, chip }
    }

    pub(super) fn pins(chip: &'static Chip, words: &[&'static Word]) -> Self {
        let wanting = words.iter().copied().filter(|word| word.pin.is_some());
        let message = format!(
            "{} has too few pins: {} besides reset, where {} take one each and a string another",
            chip.title,
            pins::count(chip),
            listed(wanting),
        );
        Self { message, chip }
    }

    /// `fault`: what is wrong with the least that could be made of it.
    pub(super) fn room(chip: &'static Chip, words: &[&'static Word], fault: &str) -> Self {
        let title = &chip.title;
        let all = listed(words.iter().copied());
        let message = format!("{title} has no room for {all}: {fault}");
        Self { message, chip }
    }

    /// The nearest chip on which it can be had, and that beginning.
    pub(in crate::cli) fn nearest(
        &self,
        name: &str,
        asked: &[&'static Word],
    ) -> Option<(&'static Chip, Beginning)> {
        let mut others = self.others().into_iter();
        others.find_map(|chip| Some((chip, Beginning::with(chip, name, asked).ok()?)))
    }

    /// The chips on which it can be had, those first that are as large.
    pub(in crate::cli) fn instead(&self, asked: &[&'static Word]) -> String {
        let others = self.others().into_iter();
        let suitable = others.filter(|other| Beginning::with(other, "trial", asked).is_ok());
        let names: Vec<&str> = suitable
            .map(|other| other.name.as_str())
            .take(NAMED)
            .collect();
        match names.as_slice() {
            [] => "no chip has all of that; leave some of it out".to_string(),
            names => format!("with --chip {}, it can be had", names.join(" or ")),
        }
    }

    /// All other chips, those first that are as large.
    fn others(&self) -> Vec<&'static Chip> {
        let legs = |chip: &Chip| {
            chip.packages
                .first()
                .map_or(0, |package| package.legs.len())
        };
        let mut others: Vec<&'static Chip> = chip::all().collect();
        others.retain(|other| other.name != self.chip.name);
        others.sort_by_key(|other| (legs(other).abs_diff(legs(self.chip)), Reverse(legs(other))));
        others
    }
}

/// `` `button`, `knob` and `sensor` ``.
fn listed(words: impl Iterator<Item = &'static Word>) -> String {
    let words: Vec<String> = words.map(|word| format!("`{}`", word.word)).collect();
    match words.as_slice() {
        [] => String::new(),
        [only] => only.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
