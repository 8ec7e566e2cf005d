//! The whole proof, in order: compile, play every scene, leave it running, touch it.

use super::{Evidence, VerifyError};
use crate::design::Design;
use crate::emit::Language;

/// What to look at, and for how long.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// What the firmware is written in.
    pub language: Language,
    /// Only these scenes, by name; empty: all. Steady levels have names such as `steady 2 of 6`.
    pub scenes: Vec<String>,
    /// How long each scene plays, in seconds of the chip's time.
    pub seconds: f64,
    /// How long the firmware is left alone, in seconds of the chip's time. 0: not at all.
    pub alone: f64,
    /// Whether to touch it: button, power, memory, watchdog.
    pub behaviour: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            language: Language::default(),
            scenes: Vec::new(),
            seconds: 60.0,
            alone: 600.0,
            behaviour: true,
        }
    }
}

/// What is being looked at now.
#[derive(Debug, Clone, PartialEq)]
pub struct Progress {
    pub what: String,
    /// Share of all the work that is done.
    pub share: f64,
}

/// Compiles a design's firmware and proves it on the simulated chip.
///
/// # Errors
/// A tool is missing, or the source does not compile. What the firmware does wrong
/// is in the evidence.
pub fn verify(design: &Design, options: &Options) -> Result<Evidence, VerifyError> {
    verify_with(design, options, |_| ())
}

/// As [`verify`], and tells what it is at.
///
/// # Errors
/// As [`verify`].
pub fn verify_with(
    design: &Design,
    options: &Options,
    mut progress: impl FnMut(Progress),
) -> Result<Evidence, VerifyError> {
    use super::bench::{Setup, Start};
    use super::{behaviour, pattern, pump, timing};

    let scenes = chosen(design, &options.scenes)?;
    let mut work = Work::new(options, scenes.len());
    progress(work.at("compiling"));
    let setup = Setup::new(design, super::compile_as(design, options.language)?)?;
    let mut evidence = Evidence::new(design, &setup.firmware);
    for scene in scenes {
        let name = &design.deck.image.score.scenes[scene].name;
        progress(work.next(&format!("playing {name}"), options.seconds));
        let start = Start {
            scene: Some(scene),
            ..Start::default()
        };
        let played = pattern::play(&setup, &start, options.seconds)?;
        evidence.patterns.push(played);
    }
    if options.alone > 0.0 {
        progress(work.next("leaving it alone", options.alone));
        evidence.timing = Some(timing::measure(&setup, options.alone)?);
        evidence.pump = pump::measure(&setup, options.alone.min(PUMP))?;
    }
    if options.behaviour {
        evidence.checks = behaviour::check(&setup, |claim| {
            progress(work.next(claim, CHECK));
        })?;
    }
    Ok(evidence)
}

/// For how many seconds the pump's edges are looked at.
const PUMP: f64 = 2.0;

/// What a check of behaviour takes, in seconds of the chip's time; for the progress alone.
const CHECK: f64 = 15.0;

/// The scenes of these names, or all; each once, although several shows may have it.
fn chosen(design: &Design, names: &[String]) -> Result<Vec<usize>, VerifyError> {
    let scenes = &design.deck.image.score.scenes;
    let is_first = |&scene: &usize| {
        scenes[..scene]
            .iter()
            .all(|earlier| earlier.origin != scenes[scene].origin)
    };
    let all = (0..scenes.len()).filter(is_first);
    if names.is_empty() {
        return Ok(all.collect());
    }
    let find = |name: &String| {
        all.clone()
            .find(|&scene| scenes[scene].name == *name)
            .ok_or_else(|| VerifyError::NoPattern(name.clone()))
    };
    names.iter().map(find).collect()
}

/// How much there is to do, in seconds of the chip's time.
struct Work {
    all: f64,
    done: f64,
    doing: f64,
}

impl Work {
    fn new(options: &Options, scenes: usize) -> Self {
        let checks = if options.behaviour {
            CHECK * super::behaviour::COUNT as f64
        } else {
            0.0
        };
        Self {
            all: scenes as f64 * options.seconds + options.alone + checks,
            done: 0.0,
            doing: 0.0,
        }
    }

    /// What has been begun is done; this comes next.
    fn next(&mut self, what: &str, seconds: f64) -> Progress {
        self.done += self.doing;
        self.doing = seconds;
        self.at(what)
    }

    fn at(&self, what: &str) -> Progress {
        Progress {
            what: what.to_string(),
            share: self.done / self.all.max(1.0),
        }
    }
}
