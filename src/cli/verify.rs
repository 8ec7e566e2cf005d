//! `duskloom verify`.

use std::io::IsTerminal;
use std::time::Duration;

use clap::Args;
use indicatif::{ProgressBar, ProgressStyle};

use duskloom::design::Design;
use duskloom::units::Time;
use duskloom::verify::{Evidence, Options, VerifyError, verify_with};

use super::failure::Failure;
use super::language::LanguageChoice;
use super::project::ProjectFile;
use super::screen::{self, Format};
use super::watch::Watch;

/// Prove on a simulated chip that the firmware does what the preview shows
///
/// Compiles the firmware, runs it cycle by cycle in a simulator, and compares it with the model tick
/// by tick; measures flash, memory, the interrupt and the stack; taps and holds the
/// button, cuts the power, damages the memory, and lets the watchdog bite.
///
/// Needs avr-gcc, and for Rust also a Rust compiler that can build `core`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Verify {
    #[command(flatten)]
    project: ProjectFile,
    #[command(flatten)]
    language: LanguageChoice,
    /// Prove this pattern only; can be given several times [default: all of them, and the rest of the light]
    #[arg(short, long, value_name = "NAME")]
    pattern: Vec<String>,
    /// How long each pattern plays, of the chip's time [default: 60 s]
    #[arg(short, long, value_name = "TIME", value_parser = super::preview::span)]
    span: Option<Time>,
    /// Print nothing when all is well
    #[arg(short, long, conflicts_with = "watch")]
    quiet: bool,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Prove it again each time its files are saved, and say in one line what has changed
    #[arg(long, conflicts_with = "format")]
    watch: bool,
}

const EXAMPLES: &str = "\
Examples:
  duskloom verify porch.yaml                           everything; takes some minutes
  duskloom verify porch.yaml --to rust                 the same firmware in Rust
  duskloom verify porch.yaml --pattern dusk --span 10s   ten seconds of one pattern
  duskloom verify porch.yaml --format json             for scripts
  duskloom verify porch.yaml --pattern dusk --watch    again each time the file is saved

Exit status: 1 if the chip differs from the model or a check fails; 3 if a tool is missing.";

impl Verify {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        let design = self.project.design()?;
        if self.watch {
            return self.follow(&design);
        }
        let evidence = self
            .prove(&design)
            .map_err(|error| failure(error, &design))?;
        if self.quiet && evidence.holds() {
            return Ok(());
        }
        screen::print(&match self.format {
            Format::Text => evidence.to_string(),
            Format::Json => screen::json(&evidence)?,
        })?;
        if evidence.holds() {
            Ok(())
        } else {
            Err(Failure::world("the firmware does not do what it should"))
        }
    }

    fn prove(&self, design: &Design) -> Result<Evidence, VerifyError> {
        let bar = match self.quiet {
            true => ProgressBar::hidden(),
            false => progress_bar(),
        };
        let evidence = verify_with(design, &self.options(), |progress| {
            bar.set_position((progress.share * STEPS as f64) as u64);
            bar.set_message(progress.what);
        });
        bar.finish_and_clear();
        evidence
    }

    /// Until it is interrupted. What cannot be read or compiled leaves the last evidence as it is.
    fn follow(&self, design: &Design) -> Result<(), Failure> {
        let mut watch = Watch::new(&self.project, &design.project.sources);
        let mut last = self.prove(design).map_err(|error| failure(error, design))?;
        screen::print(&last.to_string())?;
        loop {
            let said = match watch.next() {
                Ok(design) => match self.prove(&design) {
                    Ok(evidence) => {
                        let difference = evidence.difference(&last);
                        last = evidence;
                        difference
                    }
                    Err(error) => error.to_string(),
                },
                Err(wrong) => wrong,
            };
            screen::print(&format!("{}\n", said.trim_end()))?;
        }
    }

    /// One pattern alone is for a quick look: the rest of the proof is left out.
    fn options(&self) -> Options {
        let all = Options::default();
        let quick = !self.pattern.is_empty();
        Options {
            language: self.language.language(),
            scenes: self.pattern.clone(),
            seconds: self.span.map_or(all.seconds, Time::seconds),
            alone: if quick { 0.0 } else { all.alone },
            behaviour: !quick,
        }
    }
}

/// Steps of the progress bar.
const STEPS: u64 = 1000;

/// On a terminal only.
fn progress_bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let style = ProgressStyle::with_template("{bar:30} {percent:>3} %  {elapsed}  {msg}")
        .expect("a template that is tested by hand");
    let bar = ProgressBar::new(STEPS).with_style(style);
    bar.enable_steady_tick(Duration::from_millis(200));
    bar
}

fn failure(error: VerifyError, design: &Design) -> Failure {
    match error {
        VerifyError::Missing(missing) => Failure::missing(missing.to_string()),
        VerifyError::NoPattern(_) => {
            let scenes = design.deck.image.score.scenes.iter();
            let names: Vec<&str> = scenes.map(|scene| scene.name.as_str()).collect();
            Failure::usage(error.to_string()).hint(format!("there is {}", names.join(", ")))
        }
        _ => Failure::world(error.to_string()),
    }
}
