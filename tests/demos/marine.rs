//! The lighthouse against the published definitions, measured on the model.
//!
//! Sources, each by its short name below. No copy was at hand: all definitions are from memory.
//!
//! - *R0110*: IALA Recommendation R0110 (formerly E-110), "Rhythmic characters of lights on aids to
//!   navigation"; the same definitions head the NGA's "List of Lights" (Pub. 110 to 116) and
//!   section P of "Chart No. 1".
//! - *R1001*: IALA Recommendation R1001, "The IALA maritime buoyage system".
//! - *M.1677*: Recommendation ITU-R M.1677-1, "International Morse code", part I, section 2.

use std::path::Path;

use duskloom::design::Design;

use crate::demos::light::{Spell, spells, tick};
use crate::demos::support::{design, design_of};

/// Long enough for forty rounds of the longest rhythm.
const MEASURED: f64 = 600.0;

/// The rhythms of the library, each on the one lamp of a project.
fn library() -> Design {
    design_of(
        "chip: atmega328p
clock: 8 MHz internal
channels: [lamp]
use: patterns/library/marine.yaml
button: {pin: PC0}
shows:
  - solo:
      patterns: [fixed, isophase, occulting, flash, long-flash, group-flash-2, group-flash-3,
                 composite-flash, fixed-and-flashing, quick, quick-3, quick-6-long, very-quick,
                 morse-a, morse-u]
",
    )
}

/// A lamp's rhythm as an observer with a stop-watch notes it.
struct Rhythm {
    /// From the first flash on; each flash with the dark after it.
    flashes: Vec<Flash>,
    /// Of the stop-watch: two ticks, one for either end.
    accuracy: f64,
}

#[derive(Debug, Clone, Copy)]
struct Flash {
    light: f64,
    dark: f64,
}

impl Flash {
    fn round(self) -> f64 {
        self.light + self.dark
    }

    fn per_minute(self) -> f64 {
        60.0 / self.round()
    }
}

impl Rhythm {
    fn of(design: &Design, scene: &str, channel: &str) -> Self {
        let spells = spells(design, scene, channel, MEASURED);
        let from = spells
            .iter()
            .position(|spell| spell.is_lit())
            .expect("it lights");
        let flashes: Vec<Flash> = spells[from..]
            .chunks_exact(2)
            .map(|pair| {
                assert!(
                    pair[0].is_lit() && !pair[1].is_lit(),
                    "{scene} is on or off: {pair:?}"
                );
                Flash {
                    light: pair[0].seconds,
                    dark: pair[1].seconds,
                }
            })
            .collect();
        assert!(
            flashes.len() > 30,
            "{scene} flashes {} times",
            flashes.len()
        );
        Self {
            flashes,
            accuracy: 2.0 * tick(design),
        }
    }

    fn in_library(name: &str) -> Self {
        Self::of(&library(), name, "lamp")
    }

    fn light(&self) -> f64 {
        self.flashes.iter().map(|flash| flash.light).sum()
    }

    fn dark(&self) -> f64 {
        self.flashes.iter().map(|flash| flash.dark).sum()
    }

    fn same(&self, left: f64, right: f64) -> bool {
        (left - right).abs() <= self.accuracy
    }

    /// Groups of flashes: the dark between them is at least three times that within. The last,
    /// which may be cut, is left out.
    fn groups(&self) -> Vec<&[Flash]> {
        let shortest = self
            .flashes
            .iter()
            .map(|flash| flash.dark)
            .fold(f64::MAX, f64::min);
        let mut groups: Vec<&[Flash]> = self
            .flashes
            .split_inclusive(|flash| flash.dark >= 3.0 * shortest - self.accuracy)
            .collect();
        groups.pop();
        groups
    }

    /// The sizes of the groups, which recur every `sizes.len()` groups and `period` seconds.
    fn assert_groups(&self, sizes: &[usize], period: f64) {
        let groups = self.groups();
        for (group, size) in groups.iter().zip(sizes.iter().cycle()) {
            assert_eq!(group.len(), *size, "{group:?}");
        }
        let whole = groups.len() / sizes.len();
        assert!(whole >= 20, "{whole} rounds");
        for round in groups.chunks_exact(sizes.len()) {
            let seconds: f64 = round
                .iter()
                .copied()
                .flatten()
                .map(|flash| flash.round())
                .sum();
            assert!(
                self.same(seconds, period),
                "a round takes {seconds} s, not {period} s"
            );
        }
    }

    /// *R0110*: in a flashing light, the light of a period is shorter than the dark.
    fn assert_more_dark_than_light(&self) {
        assert!(self.light() < self.dark(), "{} s of light", self.light());
    }

    /// The letter that each group spells, with '.' and '-', by *M.1677*: a dash is three dots long,
    /// the dark between the marks of a letter one dot, that between letters at least three.
    fn letters(&self) -> Vec<String> {
        let dot = self
            .flashes
            .iter()
            .map(|flash| flash.light)
            .fold(f64::MAX, f64::min);
        let mark = |flash: &Flash| {
            if self.same(flash.light, dot) {
                '.'
            } else {
                assert!(
                    self.same(flash.light, 3.0 * dot),
                    "neither dot nor dash: {flash:?}"
                );
                '-'
            }
        };
        self.groups()
            .into_iter()
            .map(|group| {
                let (last, others) = group.split_last().expect("a group has flashes");
                assert!(last.dark >= 3.0 * dot);
                assert!(
                    others.iter().all(|flash| self.same(flash.dark, dot)),
                    "{group:?}"
                );
                group.iter().map(mark).collect()
            })
            .collect()
    }
}

/// *R0110*: a fixed light is continuous and steady.
#[test]
fn fixed_is_steady() {
    let spells = spells(&library(), "fixed", "lamp", MEASURED);
    assert_eq!(spells.len(), 1);
    assert!(spells[0].is_lit());
    assert!((spells[0].seconds - MEASURED).abs() < 0.1);
}

/// *R0110*: in an isophase light, all durations of light and dark are equal.
#[test]
fn isophase_is_as_long_light_as_dark() {
    let rhythm = Rhythm::in_library("isophase");
    for flash in &rhythm.flashes {
        assert!(rhythm.same(flash.light, flash.dark), "{flash:?}");
        assert!(rhythm.same(flash.round(), 4.0), "{flash:?}");
    }
}

/// *R0110*: in an occulting light, the light of a period is longer than the dark, and all eclipses
/// are equal.
#[test]
fn occulting_is_longer_light_than_dark() {
    let rhythm = Rhythm::in_library("occulting");
    assert!(rhythm.light() > rhythm.dark());
    for flash in &rhythm.flashes {
        assert!(rhythm.same(flash.dark, rhythm.flashes[0].dark), "{flash:?}");
        assert!(rhythm.same(flash.round(), 6.0), "{flash:?}");
    }
}

/// *R0110*: a single-flashing light flashes regularly, fewer than 50 times a minute, and is longer
/// dark than light.
#[test]
fn flashing_is_longer_dark_than_light() {
    let rhythm = Rhythm::in_library("flash");
    rhythm.assert_more_dark_than_light();
    for flash in &rhythm.flashes {
        assert!(flash.per_minute() < 50.0);
        assert!(rhythm.same(flash.round(), 5.0), "{flash:?}");
    }
}

/// *R0110*: a long flash lasts two seconds or more.
#[test]
fn a_long_flash_lasts_two_seconds() {
    let rhythm = Rhythm::in_library("long-flash");
    rhythm.assert_more_dark_than_light();
    for flash in &rhythm.flashes {
        assert!(flash.light >= 2.0 - rhythm.accuracy, "{flash:?}");
        assert!(rhythm.same(flash.round(), 10.0), "{flash:?}");
    }
}

/// *R0110*: a group-flashing light shows groups of a given number of flashes at regular intervals; a
/// composite one, groups of different numbers in turn.
#[test]
fn groups_have_their_number() {
    for (name, sizes, period) in [
        ("group-flash-2", &[2][..], 10.0),
        ("group-flash-3", &[3][..], 15.0),
        ("composite-flash", &[2, 1][..], 12.0),
    ] {
        let rhythm = Rhythm::in_library(name);
        rhythm.assert_groups(sizes, period);
        rhythm.assert_more_dark_than_light();
        let first = rhythm.flashes[0].light;
        assert!(
            rhythm
                .flashes
                .iter()
                .all(|flash| rhythm.same(flash.light, first))
        );
    }
}

/// *R0110*: in a fixed and flashing light, a steady light is joined by brighter flashes.
#[test]
fn fixed_and_flashing_never_goes_out() {
    let spells = spells(&library(), "fixed-and-flashing", "lamp", MEASURED);
    assert!(spells.iter().all(|spell| spell.is_lit()));
    let brightest = spells.iter().map(|spell| spell.duty).max().expect("spells");
    let dimmest = spells.iter().map(|spell| spell.duty).min().expect("spells");
    assert!(
        brightest.0 > 2 * dimmest.0,
        "{brightest:?} stands out from {dimmest:?}"
    );
    let time = |duty| -> f64 {
        let of_it = |spell: &&Spell| spell.duty == duty;
        spells.iter().filter(of_it).map(|spell| spell.seconds).sum()
    };
    assert!(time(brightest) < time(dimmest));
    assert!((time(brightest) + time(dimmest) - MEASURED).abs() < 10.0);
}

/// *R0110*: a quick light flashes 50 times a minute or more, but fewer than 80.
#[test]
fn quick_is_50_to_79_a_minute() {
    for flash in Rhythm::in_library("quick").flashes {
        assert!((50.0..80.0).contains(&flash.per_minute()), "{flash:?}");
    }
}

/// *R0110*: a very quick light flashes 80 times a minute or more, but fewer than 160.
#[test]
fn very_quick_is_80_to_159_a_minute() {
    for flash in Rhythm::in_library("very-quick").flashes {
        assert!((80.0..160.0).contains(&flash.per_minute()), "{flash:?}");
    }
}

/// *R1001*: an east cardinal mark shows Q(3) every 10 s.
#[test]
fn the_east_cardinal_mark_shows_three_quick_flashes() {
    assert_east_cardinal(&Rhythm::in_library("quick-3"));
}

fn assert_east_cardinal(rhythm: &Rhythm) {
    rhythm.assert_groups(&[3], 10.0);
    for group in rhythm.groups() {
        assert!(
            group[..2]
                .iter()
                .all(|flash| (50.0..80.0).contains(&flash.per_minute()))
        );
    }
}

/// *R1001*: a south cardinal mark shows Q(6) and at once a long flash of not less than 2 s, every
/// 15 s.
#[test]
fn the_south_cardinal_mark_adds_a_long_flash() {
    let rhythm = Rhythm::in_library("quick-6-long");
    rhythm.assert_groups(&[7], 15.0);
    for group in rhythm.groups() {
        let (long, quick) = group.split_last().expect("seven flashes");
        assert!(
            quick
                .iter()
                .all(|flash| (50.0..80.0).contains(&flash.per_minute()))
        );
        assert!(long.light >= 2.0 - rhythm.accuracy, "{long:?}");
    }
}

/// *M.1677*: A is dot, dash; U is dot, dot, dash.
#[test]
fn morse_lights_spell_their_letters() {
    for (name, letter, period) in [("morse-a", ".-", 8.0), ("morse-u", "..-", 15.0)] {
        let rhythm = Rhythm::in_library(name);
        rhythm.assert_groups(&[letter.len()], period);
        assert!(rhythm.letters().iter().all(|spelt| spelt == letter));
    }
}

/// The demos show the same, on their own chips and clocks, among other tracks.
#[test]
fn the_demos_show_their_marks() {
    let harbour = design(Path::new("patterns/harbour.yaml"));
    Rhythm::of(&harbour, "evening", "tower").assert_groups(&[2], 10.0);
    let signals = Rhythm::of(&harbour, "signals", "tower");
    assert!(signals.letters().iter().all(|letter| letter == ".-"));
    let fog = Rhythm::of(&harbour, "fog", "tower");
    assert!(
        fog.flashes
            .iter()
            .all(|flash| fog.same(flash.light, flash.dark))
    );

    let theatre = design(Path::new("patterns/theatre.yaml"));
    Rhythm::of(&theatre, "high-seas", "beacon").assert_groups(&[3], 15.0);
    assert_east_cardinal(&Rhythm::of(&theatre, "high-seas", "hearth"));
}
