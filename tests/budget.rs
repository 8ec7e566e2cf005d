//! The budget against the compiler, and as a person reads it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use crate::common::avr_gcc;
use crate::common::designs;
use crate::common::drawn_projects;
use duskloom::budget::{Flash, Listing, Ram, Rounds, Style, budget, report};
use duskloom::chip::Core;
use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::drive::Drive;
use duskloom::row::Judgement;
use duskloom::{emit, spec};
use rayon::prelude::*;

/// The calibration draws its projects from other seeds.
const SEED: u64 = 1;

/// Projects by core; together 200.
const PROJECTS: [(Core, usize); 3] = [(Core::Avr25, 80), (Core::Avr4, 50), (Core::Avr5, 70)];

/// The most that an estimate may be above the truth.
const MOST: f64 = 1.10;

/// What a project was estimated at, and what came of it.
struct Outcome {
    name: String,
    flash: (u32, u32),
    ram: (u32, u32),
    /// What the linker placed in memory.
    fixed: (u32, u32),
}

fn outcome(name: &str, design: &Design) -> Outcome {
    let sources = emit::firmware(design);
    let built = avr_gcc::build(&sources);
    let (flash, ram) = (Flash::new(design, &sources), Ram::new(design, &sources));
    let fixed = built.firmware.ram_use.0;
    Outcome {
        name: name.to_string(),
        flash: (flash.total().0, built.firmware.flash_use.0),
        ram: (ram.total().0, fixed + built.deepest_stack()),
        fixed: (ram.fixed().0, fixed),
    }
}

fn check(outcomes: &[Outcome]) {
    let mut faults = Vec::new();
    let mut largest = (1.0_f64, 1.0_f64);
    for one in outcomes {
        let ratio = |(estimate, truth): (u32, u32)| f64::from(estimate) / f64::from(truth);
        let (flash, ram) = (ratio(one.flash), ratio(one.ram));
        largest = (largest.0.max(flash), largest.1.max(ram));
        if !(1.0..=MOST).contains(&flash)
            || !(1.0..=MOST).contains(&ram)
            || one.fixed.0 != one.fixed.1
        {
            faults.push(format!(
                "{}: flash {:?} ({flash:.3}), RAM {:?} ({ram:.3}), variables {:?}",
                one.name, one.flash, one.ram, one.fixed
            ));
        }
    }
    println!(
        "{} projects: estimate / truth up to {:.3} for flash, {:.3} for RAM",
        outcomes.len(),
        largest.0,
        largest.1
    );
    assert!(
        faults.is_empty(),
        "(estimate, truth)\n{}",
        faults.join("\n")
    );
}

#[test_with::executable("avr-gcc")]
#[test]
fn estimates_are_at_the_truth_or_a_little_above_it() {
    let mut outcomes = Vec::new();
    for (core, count) in PROJECTS {
        let designs = drawn_projects::designs(core, SEED, count);
        outcomes.par_extend(
            designs
                .par_iter()
                .map(|(seed, _, design)| outcome(&format!("{core:?} {seed}"), design)),
        );
    }
    check(&outcomes);
}

#[test_with::executable("avr-gcc")]
#[test]
fn estimates_of_the_demos_are_at_the_truth_or_a_little_above_it() {
    let designs: Vec<(String, Design)> = demos()
        .iter()
        .map(|path| (path.display().to_string(), designs::from_file(path)))
        .collect();
    let outcomes: Vec<Outcome> = designs
        .par_iter()
        .map(|(name, design)| outcome(name, design))
        .collect();
    check(&outcomes);
}

/// The projects in `patterns/`; the libraries there have no chip.
fn demos() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("patterns");
    let Ok(entries) = fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut paths: Vec<PathBuf> = entries
        .map(|entry| entry.expect("an entry").path())
        .collect();
    paths.retain(|path| {
        let yaml = path
            .extension()
            .is_some_and(|extension| extension == "yaml");
        yaml && fs::read_to_string(path)
            .is_ok_and(|text| text.contains("\nchip:") || text.starts_with("chip:"))
    });
    paths.sort();
    paths
}

/// The light's interrupt is counted twice: from its own text when it is planned, and in the whole that is written,
/// with the rounds of its wait.
#[test]
fn the_interrupt_takes_what_its_text_says() {
    for (core, _) in PROJECTS {
        let designs = drawn_projects::designs(core, 700, 12);
        let by_port = designs
            .iter()
            .filter(|(_, _, one)| one.plan.drive.planes().is_some());
        let by_port = by_port.count();
        assert!(by_port > 1 && by_port + 4 < designs.len(), "{core:?}");
        for (seed, _, design) in designs {
            let sources = emit::firmware(&design);
            let text = sources.iter().find(|file| file.path == "pwm.S");
            let text = &text.unwrap().text;
            let waits = waits(text);
            let rounds = |_: &str| Rounds {
                group: "wait",
                most: waits,
            };
            let body = Listing::read(text).longest("pwm", &rounds).0;
            // Where its code is not at its vector, a jump is there (AVR instruction set manual).
            let jump = match (
                design.plan.handlers()[0].apart.is_some(),
                design.plan.chip.vectors.size.0,
            ) {
                (false, _) => 0,
                (true, 4) => 3,
                (true, _) => 2,
            };
            // Datasheets: four cycles from the interrupt to its first instruction, at least.
            let stated = design.plan.drive.cost().longest.0;
            assert_eq!(body + jump + 4, stated, "{core:?} {seed}");
        }
    }
}

/// How often an interrupt goes through the loop in which it waits for planes; else once.
fn waits(text: &str) -> u32 {
    let loops = text.split_once("\n1:      dec ");
    let before = loops.and_then(|(before, _)| before.rsplit_once(", "));
    before
        .and_then(|(_, count)| count.parse().ok())
        .unwrap_or(1)
}

#[test_with::executable("avr-gcc")]
#[test]
fn assembly_is_counted_exactly() {
    for (core, _) in PROJECTS {
        for (seed, _, design) in drawn_projects::designs(core, 500, 6) {
            let sources = emit::firmware(&design);
            let flash = Flash::new(&design, &sources);
            let tables = flash.programs.0 + flash.starts.0 + flash.brightness.0;
            let counted = [
                ("pwm.S", flash.interrupt.0),
                ("tables.S", tables),
                ("player.S", flash.player.0),
            ];
            for (file, bytes) in counted {
                assert_eq!(
                    avr_gcc::object_size(&sources, file),
                    bytes,
                    "{file} of {core:?} {seed}"
                );
            }
        }
    }
}

fn design(text: &str) -> Design {
    designs::from_text("signal-box.yaml", text)
}

/// The report, and what stands against the project.
fn told(text: &str) -> String {
    let design = design(text);
    let verdict = budget(&design);
    let mut objected = Report::new(design.project.sources.clone());
    for objection in verdict.objections() {
        objected.push(objection);
    }
    let report = report(&verdict, Style::default());
    if objected.diagnostics.is_empty() {
        report
    } else {
        format!(
            "{report}\n{}",
            diagnostic::render(&objected.sorted(), false)
        )
    }
}

const SMALL: &str = "\
chip: attiny2313a
clock: 8 MHz internal
channels: [home, distant]
patterns:
  clear: [{to: 100 %, over: 1 s}, {hold: 4 s}, {to: 20 %, over: 1 s}]
  caution: [{rhythm: [500 ms, 500 ms]}]
button: {pin: PD2}
";

#[test]
fn a_project_that_fits() {
    insta::assert_snapshot!(told(SMALL));
}

#[test]
fn a_project_for_a_script() {
    let verdict = budget(&design(SMALL));
    insta::assert_snapshot!(serde_json::to_string_pretty(&verdict).unwrap());
}

#[test]
fn a_project_too_large_for_its_flash() {
    let text = "\
chip: attiny13a
clock: 9.6 MHz internal
channels: [home, distant]
brightness: {error: 0.2}
change_fade: 400 ms
patterns:
  clear: [{to: 100 %, over: 1 s, ease: soft}, {hold: 4 s}, {to: 20 %, over: 1 s, ease: soft}]
  shunt: {each: true, steps: [{to: 0 % .. 100 %, over: 100 ms .. 800 ms}]}
  caution: [{rhythm: [500 ms, 500 ms]}]
  swell: [{wave: sine, period: 6 s, spread: 25 %}]
shows:
  - roam: {dwell: 10 s .. 40 s}
  - steady: {levels: 6}
  - solo: {}
button: {pin: PB2}
";
    insta::assert_snapshot!(told(text));
}

#[test]
fn a_project_too_large_for_its_ram() {
    let rounds = "{repeat: 3, steps: [".repeat(7);
    let text = format!(
        "chip: attiny13a\nchannels: 2\npatterns:\n  shunt: [{rounds}{{to: 90 %, over: 1337 ms .. 3 s}}, \
         {{to: 0 %, over: 71 s}}{}]\n",
        "]}".repeat(7)
    );
    insta::assert_snapshot!(told(&text));
}

#[test]
fn a_tick_too_short_for_its_work() {
    let text = "\
chip: attiny85
clock: 1 MHz internal
channels: 3
pwm: {slowest: 200 Hz}
tick: 1 ms
patterns:
  shunt: {each: true, steps: [{to: 0 % .. 100 %, over: 10 ms .. 800 ms}]}
";
    insta::assert_snapshot!(told(text));
}

#[test]
fn a_pattern_that_takes_long_to_start() {
    let text = "\
chip: atmega328p
clock: 1 MHz internal
channels: 6
patterns:
  parade: {stagger: 20 s, steps: [{to: 100 %, over: 60 s}, {to: 0 %, over: 60 s}]}
";
    insta::assert_snapshot!(told(text));
}

/// Steps of a pattern that has nothing to repeat.
fn steps(count: usize) -> String {
    let steps: String = (0..count)
        .map(|i| {
            format!(
                "    - {{to: {} %, over: {} ms}}\n",
                i * 37 % 101,
                40 + 10 * (i % 13)
            )
        })
        .collect();
    format!("chip: attiny2313a\nclock: 8 MHz internal\nchannels: 1\npatterns:\n  parade:\n{steps}")
}

#[test]
fn ten_thousand_steps_do_not_fit_and_are_told_so() {
    let verdict = budget(&design(&steps(10_000)));
    assert_eq!(verdict.verdict, Judgement::Over);
    let largest = &verdict.patterns[0];
    assert_eq!(largest.0, "parade");
    assert!(largest.1.0 >= 20_000, "{largest:?}");
}

#[test]
fn a_hundred_thousand_steps_do_not_fit_and_are_told_so() {
    let text = steps(100_000).into_bytes();
    let project = spec::read_with(Path::new("signal-box.yaml"), &|_| Ok(text.clone()))
        .unwrap_or_else(|report| panic!("{}", diagnostic::render(&report, false)));
    let errors = Design::new(project).expect_err("that is too much for any chip");
    let said: Vec<_> = errors.iter().map(|error| error.message.as_str()).collect();
    insta::assert_snapshot!(said.join("\n"));
}

/// What drives a light, and what else concerns the compiler's registers, is drawn often enough to be compared.
#[test]
fn every_drive_is_drawn_with_what_sleeps() {
    let mut counts = BTreeMap::new();
    for (core, count) in PROJECTS {
        for (_, _, design) in drawn_projects::designs(core, SEED, 2 * count) {
            let drive = match design.plan.drive {
                Drive::Timer(_) => "timer",
                Drive::Port(_) => "port",
                Drive::Mixed(_) => "mixed",
            };
            let plain = design.plan.drive.channels().iter().any(|one| one.plain);
            let what = [
                ("alone", true),
                ("plain", plain),
                ("pump", design.plan.drive.pump().is_some()),
                ("standby", design.firmware.rules.stands_by()),
                ("evening", design.firmware.evening.is_some()),
            ];
            for (what, there) in what {
                *counts.entry((drive, what)).or_insert(0) += u32::from(there);
            }
        }
    }
    let least = counts.values().min().copied().unwrap_or(0);
    assert!(least > 0, "{counts:?}");
}
