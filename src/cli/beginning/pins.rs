//! Which pin of a chip is for what.

use std::collections::BTreeMap;

use duskloom::chip::{Chip, Pin};
use duskloom::spec::ButtonTo;
use duskloom::target::Target;

use super::words::{BUTTON, Wants, Word};

/// The pins of a beginning.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Pins {
    pub strings: Vec<Pin>,
    /// By word.
    pub words: BTreeMap<&'static str, Pin>,
}

/// Outputs of timers for so many strings at the most, each number of them that leaves a pin for every word;
/// most strings first.
pub(super) fn choices(
    chip: &'static Chip,
    strings: usize,
    words: &[&'static Word],
) -> impl Iterator<Item = Pins> {
    let mut outputs: Vec<Pin> = Vec::new();
    for (_, output) in chip.outputs() {
        if !outputs.contains(&output.pin) && chip.reset != Some(output.pin) {
            outputs.push(output.pin);
        }
    }
    outputs.truncate(strings);
    let wakes = (words.iter()).any(|word| word.wakes);
    let mut seats: Vec<Seat> = words
        .iter()
        .filter_map(|word| Seat::of(word, wakes))
        .collect();
    // Few pins are measured or wake the chip: they are given away first.
    seats.sort_by_key(|seat| (seat.wants != Wants::Voltage, !seat.wakes));
    (1..=outputs.len()).rev().filter_map(move |count| {
        let strings = outputs[..count].to_vec();
        let words = seated(chip, &strings, &seats)?;
        Some(Pins { strings, words })
    })
}

/// How many pins there are for strings and words.
pub(super) fn count(chip: &Chip) -> usize {
    let pins = chip.pins().filter(|pin| chip.reset != Some(*pin));
    pins.count()
}

/// A word that has a pin of its own.
#[derive(Debug, Clone, Copy)]
struct Seat {
    word: &'static str,
    wants: Wants,
    /// A low level at it must wake the chip.
    wakes: bool,
}

impl Seat {
    fn of(word: &'static Word, wakes: bool) -> Option<Self> {
        Some(Self {
            word: word.word,
            wants: word.pin?,
            wakes: wakes && word.word == BUTTON,
        })
    }

    fn suits(self, chip: &'static Chip, pin: Pin) -> bool {
        let measured = |pin| {
            let converter = chip.converter.as_ref();
            converter.is_some_and(|converter| converter.channels.contains_key(&pin))
        };
        let wakes = |pin| Target::of(chip).waking(pin, ButtonTo::Ground).is_some();
        (self.wants != Wants::Voltage || measured(pin)) && (!self.wakes || wakes(pin))
    }
}

/// A pin for each: the best for the first that leaves any for the others. `None`: there are too few.
fn seated(
    chip: &'static Chip,
    strings: &[Pin],
    seats: &[Seat],
) -> Option<BTreeMap<&'static str, Pin>> {
    let mut free: Vec<Pin> = (chip.pins())
        .filter(|pin| chip.reset != Some(*pin) && !strings.contains(pin))
        .collect();
    free.sort_by_key(|pin| reluctance(chip, strings, *pin));
    seat(chip, &free, seats)
}

fn seat(chip: &'static Chip, free: &[Pin], seats: &[Seat]) -> Option<BTreeMap<&'static str, Pin>> {
    let Some((first, others)) = seats.split_first() else {
        return Some(BTreeMap::new());
    };
    let suitable = free.iter().filter(|pin| first.suits(chip, **pin));
    suitable.copied().find_map(|pin| {
        let left: Vec<Pin> = free.iter().copied().filter(|other| *other != pin).collect();
        let mut seated = seat(chip, &left, others)?;
        seated.insert(first.word, pin);
        Some(seated)
    })
}

/// The least for a pin that nothing else wants: best one that programmer and debugger leave alone, and on a
/// port with no string.
fn reluctance(chip: &Chip, strings: &[Pin], pin: Pin) -> impl Ord + use<> {
    let programs = chip.programming.function(pin).is_some();
    let debugging = chip.debugging.as_ref();
    let debugs = debugging.is_some_and(|debugging| debugging.pins.contains(&pin));
    let beside = strings.iter().any(|string| string.port == pin.port);
    let others = chip.functions(pin).len();
    (programs, debugs, others > 0, beside, pin)
}
