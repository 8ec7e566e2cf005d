//! How many strings each chip carries with each drive, with chance and without: the README's table.

use std::fmt::Write;
use std::path::Path;

use duskloom::budget::{Flash, Ram};
use duskloom::design::Design;
use duskloom::{emit, spec};
use rayon::prelude::*;

/// Chips, and a pin of each for the button.
const CHIPS: [(&str, &str, &str); 10] = [
    ("ATtiny13A", "9.6 MHz internal", "PB4"),
    ("ATtiny25", "8 MHz internal", "PB3"),
    ("ATtiny45", "8 MHz internal", "PB3"),
    ("ATtiny24A", "8 MHz internal", "PB0"),
    ("ATtiny44A", "8 MHz internal", "PB0"),
    ("ATtiny261A", "8 MHz internal", "PB6"),
    ("ATtiny2313A", "8 MHz internal", "PD2"),
    ("ATtiny4313", "8 MHz internal", "PD2"),
    ("ATmega48A", "8 MHz internal", "PD2"),
    ("ATmega328P", "8 MHz internal", "PD2"),
];

/// More channels no project may have.
const MOST: usize = 12;

/// Three patterns, three shows, a button and memory. With chance, a pattern draws for every string on its own.
fn light(
    chip: &str,
    clock: &str,
    button: &str,
    strings: usize,
    drive: &str,
    chance: bool,
) -> String {
    let names: Vec<String> = (1..=strings)
        .map(|number| format!("string{number}"))
        .collect();
    let names = names.join(", ");
    let third = if chance {
        format!(
            "channels: [{names}]\n    each: true\n    steps: [{{to: 20 % .. 80 %, over: 200 ms .. 900 ms}}]"
        )
    } else {
        "steps: [{wave: triangle, period: 6 s, low: 10 %, high: 60 %}]".to_string()
    };
    let roam = if chance {
        "  - roam: {dwell: 20 s .. 60 s}\n"
    } else {
        ""
    };
    format!(
        "name: strings\nchip: {}\nclock: {clock}\nchannels: [{names}]\npwm: {{drive: {drive}}}\n\
         button: {{pin: {button}}}\nmemory: {{after: 3 s}}\nbrightness: {{levels: 64}}\n\
         patterns:\n  tide: [{{wave: sine, period: 8 s, low: 5 %, high: 90 %, spread: 80 %}}]\n  \
         dusk:\n    - {{set: 0 %}}\n    - {{to: 70 %, over: 4 s}}\n    - {{hold: 5 s}}\n    - {{to: 0 %, over: 3 s}}\n  \
         third:\n    {third}\nshows:\n{roam}  - solo: {{}}\n  - steady: {{levels: 5}}\n",
        chip.to_lowercase()
    )
}

fn fits(text: &str) -> bool {
    let bytes = text.as_bytes().to_vec();
    let project = spec::read_with(Path::new("strings.yaml"), &|_| Ok(bytes.clone()));
    let project = project.unwrap_or_else(|report| panic!("{report:?}\n{text}"));
    let Ok(design) = Design::new(project) else {
        return false;
    };
    let sources = emit::firmware(&design);
    let chip = design.plan.chip;
    Flash::new(&design, &sources).total() <= chip.flash
        && Ram::new(&design, &sources).total() <= chip.ram.size
}

/// The most strings with which everything fits.
fn most(chip: (&str, &str, &str), drive: &str, chance: bool) -> usize {
    let (name, clock, button) = chip;
    let fits = |strings: &usize| fits(&light(name, clock, button, *strings, drive, chance));
    (1..=MOST).rev().find(fits).unwrap_or(0)
}

fn table() -> String {
    let rows: Vec<String> = CHIPS
        .par_iter()
        .map(|chip| {
            let mut row = format!("| {} |", chip.0);
            for (drive, chance) in [
                ("timer", false),
                ("timer", true),
                ("port", false),
                ("port", true),
            ] {
                write!(row, " {} |", most(*chip, drive, chance)).expect("a string takes all");
            }
            row
        })
        .collect();
    format!(
        "| chip | timers | timers, with chance | port | port, with chance |\n|---|---|---|---|---|\n{}\n",
        rows.join("\n")
    )
}

#[test]
fn the_readme_tells_how_many_strings_each_chip_carries() {
    let readme = include_str!("../README.md");
    let table = table();
    assert!(
        readme.contains(&table),
        "README.md should have this table:\n\n{table}"
    );
}
