//! The whole proof: compile, play every scene, leave it running, touch it.

use std::sync::{Mutex, PoisonError};

use rayon::prelude::*;

use super::bench::{Setup, Start};
use super::{Check, Evidence, PatternEvidence, PumpEvidence, TimingEvidence, VerifyError};
use super::{behaviour, pattern, pump, timing};
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

impl Options {
    /// Over before an evening is, so that what is looked at is lit.
    fn within_evening(&self, design: &Design) -> Self {
        let tick = design.plan.tick.seconds();
        let evening = design.firmware.evening;
        let most = evening.map_or(f64::INFINITY, |evening| {
            0.8 * f64::from(evening.on.0) * tick
        });
        Self {
            seconds: self.seconds.min(most),
            alone: self.alone.min(most),
            ..self.clone()
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
    progress: impl FnMut(Progress) + Send,
) -> Result<Evidence, VerifyError> {
    let options = &options.within_evening(design);
    let jobs = jobs(design, options)?;
    let work = Mutex::new(Work::new(&jobs, options, progress));
    tell(&work, |work| work.begin("compiling"));
    let setup = Setup::new(design, super::compile_as(design, options.language)?)?;
    tell(&work, |work| work.end("compiling", 0.0));
    let found = jobs.par_iter().with_max_len(1).map(|job| {
        let what = job.what(design);
        tell(&work, |work| work.begin(&what));
        let found = job.run(&setup, options);
        tell(&work, |work| work.end(&what, job.seconds(options)));
        found
    });
    let mut evidence = Evidence::new(design, &setup.firmware);
    for found in found.collect::<Result<Vec<_>, _>>()? {
        match found {
            Found::Pattern(pattern) => evidence.patterns.push(pattern),
            Found::Timing(timing) => evidence.timing = Some(timing),
            Found::Pump(pump) => evidence.pump = pump,
            Found::Check(check) => evidence.checks.push(check),
        }
    }
    Ok(evidence)
}

/// A part of the proof. Each powers up a chip of its own, so that all can be done side by side.
#[derive(Debug, Clone, Copy)]
enum Job {
    Scene(usize),
    Alone,
    Pump,
    /// By its place among the claims.
    Check(usize),
}

/// What a job finds.
enum Found {
    Pattern(PatternEvidence),
    Timing(TimingEvidence),
    Pump(Option<PumpEvidence>),
    Check(Check),
}

/// All there is to do, the longest first: nothing should be left to one core at the end.
fn jobs(design: &Design, options: &Options) -> Result<Vec<Job>, VerifyError> {
    let scenes = chosen(design, &options.scenes)?;
    let alone = (options.alone > 0.0).then_some(Job::Alone);
    let pump = alone.and(design.plan.drive.pump()).map(|_| Job::Pump);
    let checks = if options.behaviour {
        behaviour::COUNT
    } else {
        0
    };
    Ok(alone
        .into_iter()
        .chain(pump)
        .chain(scenes.into_iter().map(Job::Scene))
        .chain((0..checks).map(Job::Check))
        .collect())
}

impl Job {
    fn run(self, setup: &Setup, options: &Options) -> Result<Found, VerifyError> {
        match self {
            Self::Scene(scene) => {
                let start = Start {
                    scene: Some(scene),
                    ..Start::default()
                };
                pattern::play(setup, &start, options.seconds).map(Found::Pattern)
            }
            Self::Alone => timing::measure(setup, options.alone).map(Found::Timing),
            Self::Pump => pump::measure(setup, options.alone.min(PUMP)).map(Found::Pump),
            Self::Check(place) => behaviour::check_one(setup, place).map(Found::Check),
        }
    }

    fn what(self, design: &Design) -> String {
        match self {
            Self::Scene(scene) => format!("playing {}", design.deck.image.score.scenes[scene].name),
            Self::Alone => "leaving it alone".to_string(),
            Self::Pump => "watching the pump".to_string(),
            Self::Check(place) => behaviour::claims()
                .nth(place)
                .unwrap_or_default()
                .to_string(),
        }
    }

    /// What it takes, in seconds of the chip's time; for the progress alone.
    fn seconds(self, options: &Options) -> f64 {
        match self {
            Self::Scene(_) => options.seconds,
            Self::Alone => options.alone,
            Self::Pump => options.alone.min(PUMP),
            Self::Check(_) => CHECK,
        }
    }
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

/// How much there is to do, in seconds of the chip's time, and who wants to know.
struct Work<F> {
    all: f64,
    done: f64,
    /// What is being looked at, the longest first.
    running: Vec<String>,
    progress: F,
}

impl<F: FnMut(Progress)> Work<F> {
    fn new(jobs: &[Job], options: &Options, progress: F) -> Self {
        Self {
            all: jobs.iter().map(|job| job.seconds(options)).sum(),
            done: 0.0,
            running: Vec::new(),
            progress,
        }
    }

    fn begin(&mut self, what: &str) {
        self.running.push(what.to_string());
        self.say(what);
    }

    /// What goes on meanwhile is spoken of, not what was begun last.
    fn end(&mut self, what: &str, seconds: f64) {
        self.done += seconds;
        self.running.retain(|running| running != what);
        if let Some(what) = self.running.first().cloned() {
            self.say(&what);
        }
    }

    fn say(&mut self, what: &str) {
        (self.progress)(Progress {
            what: what.to_string(),
            share: self.done / self.all.max(1.0),
        });
    }
}

/// One at a time speaks.
fn tell<F>(work: &Mutex<Work<F>>, what: impl FnOnce(&mut Work<F>)) {
    what(&mut work.lock().unwrap_or_else(PoisonError::into_inner));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_still_runs_is_spoken_of() {
        let mut said = Vec::new();
        let mut work = Work::new(&[], &Options::default(), |progress: Progress| {
            said.push(progress.what);
        });
        work.begin("leaving it alone");
        work.begin("playing dusk");
        work.end("playing dusk", 1.0);
        work.end("leaving it alone", 1.0);
        assert_eq!(
            said,
            ["leaving it alone", "playing dusk", "leaving it alone"]
        );
    }
}
