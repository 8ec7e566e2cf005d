//! Every project that anyone is shown as good, and twenty that were drawn: each pattern for a short
//! while. `verify::projects` and `verify::demos` look longer at theirs.

use std::fs;
use std::path::{Path, PathBuf};

use duskloom::budget::budget;
use duskloom::chip::Core;
use duskloom::design::Design;
use duskloom::verify::machine::Silicon;
use duskloom::verify::{Options, verify};
use rayon::prelude::*;

use crate::common::{designs, drawn_projects};
use crate::verify::support::folder;

/// A bright period can tear at any tick: long enough for hundreds of them.
fn short() -> Options {
    Options {
        seconds: 1.5,
        alone: 0.0,
        behaviour: false,
        ..Options::default()
    }
}

/// All of them at once, so that one run tells of all that is wrong.
fn prove(projects: Vec<(String, Design)>, options: &Options) {
    let wrong: Vec<String> = projects
        .par_iter()
        .filter_map(|(name, design)| match verify(design, options) {
            Ok(evidence) if evidence.holds() => None,
            Ok(evidence) => Some(format!("{name}\n{evidence}")),
            Err(error) => Some(format!("{name}: {error}")),
        })
        .collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The projects in a folder.
fn projects_in(path: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(path).into_iter().flatten();
    let mut files: Vec<PathBuf> = entries
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "yaml"))
        .collect();
    files.sort();
    files
}

/// Libraries, and parts of projects, do not.
fn names_its_chip(text: &str) -> bool {
    text.lines().any(|line| line.starts_with("chip:"))
}

/// What the repository shows as good, but for what other tests look at for longer.
fn shown() -> Vec<PathBuf> {
    let mut tests: Vec<PathBuf> = fs::read_dir(folder("tests"))
        .unwrap()
        .map(|entry| entry.unwrap().path().join("projects"))
        .filter(|path| path.is_dir() && !path.ends_with("verify/projects"))
        .collect();
    tests.sort();
    tests.insert(0, folder("benches"));
    tests
        .iter()
        .flat_map(|path| projects_in(path))
        .filter(|path| names_its_chip(&fs::read_to_string(path).unwrap()))
        .collect()
}

#[test_with::executable("avr-gcc")]
#[test]
fn files() {
    let files = shown();
    assert!(files.len() >= 12, "{files:?}");
    let projects = files
        .iter()
        .map(|path| (path.display().to_string(), designs::from_file(path)))
        .collect();
    prove(projects, &short());
}

/// Blocks of the README that are whole projects: they name their chip.
#[test_with::executable("avr-gcc")]
#[test]
fn readme() {
    let text = fs::read_to_string(folder("README.md")).unwrap();
    let blocks = text.split("```yaml\n").skip(1);
    let projects: Vec<(String, Design)> = blocks
        .filter_map(|block| block.split("```").next())
        .filter(|block| names_its_chip(block))
        .map(|block| {
            (
                "README".to_string(),
                designs::from_text("readme.yaml", block),
            )
        })
        .collect();
    assert!(!projects.is_empty(), "the README shows a project");
    prove(projects, &short());
}

/// It fits, and the simulator has the chip and the timers that are used.
fn can_be_played(design: &Design) -> bool {
    let flash = budget(design).row("flash").unwrap().figure.value();
    let used = design.plan.drive.set_up();
    let known = |part: Silicon| used.iter().all(|(timer, _)| part.has_timer(timer.number));
    flash <= f64::from(design.plan.chip.flash.0)
        && Silicon::named(&design.plan.chip.name).is_ok_and(known)
}

#[test_with::executable("avr-gcc")]
#[test]
fn drawn() {
    let cores = [(Core::Avr25, 20), (Core::Avr4, 10), (Core::Avr5, 8)];
    let projects: Vec<(String, Design)> = cores
        .into_iter()
        .flat_map(|(core, count)| drawn_projects::designs(core, 1000, count))
        .filter(|(_, _, design)| can_be_played(design))
        .map(|(seed, text, design)| (format!("drawn {seed}\n{text}"), design))
        .take(20)
        .collect();
    assert_eq!(projects.len(), 20);
    prove(projects, &short());
}

/// Every curve at every depth, all at full brightness and with steps that end on it.
#[test_with::executable("avr-gcc")]
#[test]
fn every_curve_and_depth() {
    let curves = [
        "lightness",
        "logarithmic",
        "square",
        "linear",
        "{power: 2.2}",
    ];
    let slowest = [30000, 15000, 7000, 3500, 1750, 900, 450, 225, 120];
    let projects: Vec<(String, Design)> = (0..slowest.len())
        .map(|depth| {
            let curve = curves[depth % curves.len()];
            let levels = [256, 64][depth % 2];
            let text = format!(
                "name: bright\nchip: attiny2313a\nclock: 8 MHz internal\nchannels: 2\n\
                 pwm: {{slowest: {} Hz}}\n\
                 brightness: {{curve: {curve}, levels: {levels}, ceiling: 100 %}}\n\
                 patterns:\n  p:\n    - {{to: 100 %, over: 70 ms}}\n    - {{set: 70 %, hold: 10 ms}}\n    \
                 - {{set: 100 %, hold: 10 ms}}\n    - {{to: 0 %, over: 90 ms}}\n",
                slowest[depth]
            );
            let design = designs::from_text("bright.yaml", &text);
            assert_eq!(usize::from(design.plan.drive.pwm().extra_bits), depth);
            (text, design)
        })
        .collect();
    prove(projects, &short());
}

/// The hard case for long: 256 levels up to full brightness, no wrong period in ten minutes of every
/// pattern. `cargo test --release --test it -- --ignored ten_minutes`: three and a half minutes of a
/// processor.
#[test]
#[ignore = "it takes three and a half minutes"]
fn ten_minutes_of_every_pattern_at_full_brightness() {
    let design = designs::from_file(folder("benches/sizing.yaml"));
    let options = Options {
        seconds: 600.0,
        ..short()
    };
    prove(vec![("sizing".to_string(), design)], &options);
}
