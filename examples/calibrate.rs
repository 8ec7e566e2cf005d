//! Fits the estimate of `main.c` to what avr-gcc makes of it, and writes
//! `src/budget/calibration.yaml`. Run it whenever the C templates change:
//!
//!     cargo run --release --example calibrate [PROJECTS_A_CORE_AND_DRIVE] [keep]
//!
//! With `keep`, what is there stays as it is, and only features that are new are fitted: the estimates of all
//! other projects remain.
//!
//! The fit is from above: of all sums over the features that are nowhere below the truth, the one
//! that is least above it, which is a linear program. How much projects that were not measured may
//! need more is found by fitting to nine tenths of the projects and looking at the last one.

#[path = "../tests/common/avr_gcc.rs"]
mod avr_gcc;
#[path = "../tests/common/drawn_projects.rs"]
mod drawn_projects;

use std::collections::BTreeMap;

use duskloom::budget::{Calibration, Features, Fit, Flash, Ram, features};
use duskloom::chip::Core;
use duskloom::design::Design;
use duskloom::emit;
use microlp::{ComparisonOp, OptimizationDirection, Problem, SolveOutcome, Variable};
use rayon::prelude::*;

/// Tests draw their projects from other seeds.
const SEED: u64 = 1_000_000;
const FOLDS: usize = 10;
/// One project in so many is left out as the only one of its kind.
const ALONE: usize = 350;
/// Projects that are told for whoever looks for a missing feature.
const WORST: usize = 4;
const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/src/budget/calibration.yaml");

/// A compiled project.
struct Sample {
    seed: u64,
    features: Features,
    /// What `main.c` took, in bytes.
    main: f64,
    /// What all took.
    total: f64,
    /// Bytes of stack beyond what the budget states.
    stack: i64,
}

fn main() {
    let count = std::env::args()
        .nth(1)
        .map_or(700, |count| count.parse().expect("a number"));
    let keep = std::env::args().any(|argument| argument == "keep");
    let (mut cores, mut on_a_port) = (BTreeMap::new(), BTreeMap::new());
    for core in [Core::Avr25, Core::Avr4, Core::Avr5] {
        let known = keep.then(|| known(core));
        let (of_timers, of_ports) = known.unzip();
        for (on_ports, known, fits) in [
            (false, of_timers, &mut cores),
            (true, of_ports, &mut on_a_port),
        ] {
            let samples = compiled(&drawn(core, count, on_ports, keep));
            fits.insert(core, fitted(core, &samples, known));
        }
    }
    let calibration = Calibration {
        compiler: avr_gcc::version(),
        cores,
        on_a_port,
    };
    let yaml = serde_yaml::to_string(&calibration).expect("plain data");
    let heading = "# What the features of main.c take in bytes, by core. Made by\n\
                   # `cargo run --release --example calibrate`; do not edit.\n";
    std::fs::write(FILE, format!("{heading}{yaml}")).expect("the calibration's file");
}

fn fitted(core: Core, samples: &[Sample], known: Option<Fit>) -> Fit {
    let all: Vec<&Sample> = samples.iter().collect();
    let mut bytes = fit(&all, known.as_ref());
    if let Some(known) = &known {
        let kept = known.bytes.iter().filter(|(name, _)| !is_new(name));
        bytes.extend(kept.map(|(name, bytes)| (name.clone(), *bytes)));
    }
    let margin = match &known {
        Some(known) => known.margin,
        None => shortfall(samples),
    };
    tell(core, samples, &bytes, margin);
    Fit {
        projects: known.map_or(samples.len(), |known| known.projects),
        margin,
        bytes,
    }
}

/// Whether a project has a feature that is to be fitted anew.
fn has_new(design: &Design) -> bool {
    features(design).keys().any(|name| is_new(name))
}

/// Features that `keep` fits.
fn is_new(name: &str) -> bool {
    name.starts_with("knob")
}

/// What the file has now.
fn in_file() -> Calibration {
    let text = std::fs::read_to_string(FILE).expect("it is there");
    serde_yaml::from_str(&text).expect("as it was written")
}

/// That of timers, and that of a port.
fn known(core: Core) -> (Fit, Fit) {
    let Calibration {
        mut cores,
        mut on_a_port,
        ..
    } = in_file();
    let known = "all cores are in it";
    (
        cores.remove(&core).expect(known),
        on_a_port.remove(&core).expect(known),
    )
}

/// Those whose light ports show, or timers alone. Where some are known, those that have nothing new would tell
/// nothing.
fn drawn(core: Core, count: usize, on_ports: bool, keep: bool) -> Vec<(u64, String, Design)> {
    let drawn = (SEED..).map(|seed| (seed, drawn_projects::project(core, seed)));
    // Few are asked to, and those that are not would be in vain.
    let asked = |text: &str| text.contains("drive: port") || text.contains("drive: mixed");
    let asked = drawn.filter(|(_, text)| !on_ports || asked(text));
    let designs = asked.filter_map(|(seed, text)| {
        let design = drawn_projects::design(&text)?;
        let shown = design.plan.drive.planes().is_some() == on_ports;
        (shown && (!keep || has_new(&design))).then_some((seed, text, design))
    });
    designs.take(count).collect()
}

fn compiled(designs: &[(u64, String, Design)]) -> Vec<Sample> {
    let measured = designs.par_iter().map(|(seed, _, design)| {
        let sources = emit::firmware(design);
        let exact = Flash::new(design, &sources).assembly();
        let built = avr_gcc::build(&sources);
        let total = built.firmware.flash_use;
        let stack =
            i64::from(built.deepest_stack()) - i64::from(Ram::new(design, &sources).stack.0);
        Sample {
            seed: *seed,
            features: features(design),
            main: f64::from(total.0) - f64::from(exact.0),
            total: f64::from(total.0),
            stack,
        }
    });
    measured.collect()
}

/// The coefficients that are nowhere too low, and least too high in the worst case and on average.
fn fit(samples: &[&Sample], known: Option<&Fit>) -> BTreeMap<String, f64> {
    let bounds = |name: &str| match known.and_then(|fit| fit.bytes.get(name)) {
        Some(bytes) if !is_new(name) => (*bytes, *bytes),
        _ if is_new(name) => (-200.0, 500.0),
        None if known.is_some() => (0.0, 0.0),
        _ => (-40.0, 500.0),
    };
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let mut weights: BTreeMap<&str, f64> = BTreeMap::new();
    for sample in samples {
        for (name, count) in &sample.features {
            *weights.entry(name).or_default() += count / sample.total;
        }
    }
    let worst = problem.add_var(samples.len() as f64 / 4.0, (0.0, f64::INFINITY));
    let variables: BTreeMap<&str, Variable> = weights
        .into_iter()
        .map(|(name, weight)| (name, problem.add_var(weight, bounds(name))))
        .collect();
    for sample in samples {
        let mut sum: Vec<(Variable, f64)> = sample
            .features
            .iter()
            .map(|(name, count)| (variables[name.as_str()], *count))
            .collect();
        problem.add_constraint(sum.as_slice(), ComparisonOp::Ge, sample.main);
        sum.push((worst, -sample.total));
        problem.add_constraint(sum.as_slice(), ComparisonOp::Le, sample.main);
    }
    let outcome = problem
        .solve()
        .expect("enough above the truth is always possible");
    let SolveOutcome::Solution(solution) = outcome else {
        unreachable!("there is no time limit")
    };
    variables
        .into_iter()
        .map(|(name, variable)| (name.to_string(), rounded_up(solution[variable])))
        .filter(|(_, bytes)| *bytes != 0.0)
        .collect()
}

/// To a hundredth of a byte.
fn rounded_up(bytes: f64) -> f64 {
    (bytes * 100.0 - 1e-6).ceil() / 100.0
}

fn estimate(sample: &Sample, bytes: &BTreeMap<String, f64>) -> f64 {
    let terms = sample.features.iter();
    terms
        .map(|(name, count)| bytes.get(name).unwrap_or(&0.0) * count)
        .sum()
}

/// How far a fit is below the truth of projects that it has not seen.
fn shortfall(samples: &[Sample]) -> f64 {
    let fold = |fold: usize| {
        let in_fold = |i: usize| i % FOLDS == fold;
        let seen: Vec<&Sample> = (0..samples.len())
            .filter(|i| !in_fold(*i))
            .map(|i| &samples[i])
            .collect();
        let bytes = fit(&seen, None);
        let unseen = (0..samples.len())
            .filter(|i| in_fold(*i))
            .map(|i| &samples[i]);
        let short = unseen.map(|sample| (sample.main - estimate(sample, &bytes), sample));
        short.collect::<Vec<_>>()
    };
    let mut all: Vec<(f64, &Sample)> = (0..FOLDS).flat_map(fold).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (short, Sample { seed, features, .. }) in all.iter().take(WORST) {
        println!("  {short:.0} B short, seed {seed}: {:?}", features.keys());
    }
    // Projects that are the only ones of their kind say nothing of the fit to all of them.
    let alone = samples.len() / ALONE;
    rounded_up(all.get(alone).map_or(0.0, |(short, _)| short.max(0.0)))
}

/// How good it is, and the worst projects, for whoever looks for a missing feature.
fn tell(core: Core, samples: &[Sample], bytes: &BTreeMap<String, f64>, margin: f64) {
    let mut over: Vec<(f64, &Sample)> = samples
        .iter()
        .map(|sample| {
            (
                1.0 + (estimate(sample, bytes) + margin - sample.main) / sample.total,
                sample,
            )
        })
        .collect();
    over.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mean: f64 = over.iter().map(|(ratio, _)| ratio).sum::<f64>() / over.len() as f64;
    println!(
        "{core:?}: {} projects, estimate / truth {mean:.3} on average, margin {margin} B",
        samples.len()
    );
    for one in samples.iter().filter(|one| one.stack > 0) {
        println!(
            "  {} B more stack than stated: seed {}  {:?}",
            one.stack, one.seed, one.features
        );
    }
    for (ratio, sample) in over.iter().take(6).chain(over.last()) {
        println!(
            "  {ratio:.3}  seed {}  main.c {} of {} B  {:?}",
            sample.seed, sample.main, sample.total, sample.features
        );
    }
}
