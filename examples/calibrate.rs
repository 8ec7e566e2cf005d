//! Fits the estimate of `main.c` to what avr-gcc makes of it, and writes
//! `src/budget/calibration.yaml`. Run it whenever the templates of C change:
//!
//!     cargo run --release --example calibrate [PROJECTS_A_CORE]

#[path = "../tests/common/avr_gcc.rs"]
mod avr_gcc;
#[path = "../tests/common/drawn_projects.rs"]
mod drawn_projects;

use std::collections::{BTreeMap, BTreeSet};

use duskloom::budget::Flash;
use duskloom::budget::main_c::{Features, features};
use duskloom::chip::Core;
use duskloom::emit;

/// Tests draw their projects from other seeds.
const SEED: u64 = 1_000_000;

/// A compiled project.
struct Sample {
    seed: u64,
    features: Features,
    /// What main.c took.
    main: f64,
    /// What all took.
    total: f64,
}

fn main() {
    let count = std::env::args().nth(1).map_or(400, |count| count.parse().expect("a number"));
    assert!(avr_gcc::is_there());
    for core in [Core::Avr25, Core::Avr4, Core::Avr5] {
        let designs = drawn_projects::designs(core, SEED, count);
        let samples = avr_gcc::in_parallel(&designs, |(seed, _, design)| {
            let sources = emit::firmware(design);
            let main_c = &sources.iter().find(|file| file.path == "main.c").unwrap().text;
            let flash = Flash::new(design, &sources);
            let total = avr_gcc::build(&sources).firmware.flash_use.0;
            Sample {
                seed: *seed,
                features: features(design, main_c),
                main: f64::from(total - flash.assembly().0),
                total: f64::from(total),
            }
        });
        for s in &samples {
            println!("{core:?}\t{}\t{}\t{}\t{:?}", s.seed, s.main, s.total, s.features);
        }
    }
    let _: (BTreeMap<u8, u8>, BTreeSet<u8>);
}
