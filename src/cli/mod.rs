//! The command line: one file a command, each of which takes its options, asks the library, and
//! prints what it answers.

mod beginning;
mod budget;
mod build;
mod built;
mod calm;
mod chip_card;
mod chip_data;
mod chips;
mod completions;
mod curve;

mod depfile;
mod diff;
mod explain;
mod failure;
mod file;
mod folder;
mod keys;
mod language;
mod manual;
mod new;
mod outputs;
mod preview;
mod project;
mod revision;
mod schema;
mod screen;
mod verify;
mod watch;
mod wiring;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

use failure::Failure;
use screen::Format;

/// Compiles light patterns written in YAML into firmware for small AVR chips.
///
/// A project file says which chip drives which strings of lights, what the patterns look like, and
/// what the button does. duskloom sizes the PWM so that nothing flickers and off is dark, packs the
/// patterns and the brightness curve, and writes C or Rust that is ready to build and flash.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100, after_help = FIRST_STEPS)]
pub(crate) struct CommandLine {
    #[command(subcommand)]
    command: Command,
}

const FIRST_STEPS: &str = "\
First steps:
  duskloom new porch            write porch.yaml, a project to start from
  duskloom preview porch.yaml   look at its patterns as text
  duskloom build porch.yaml     write the firmware to out/porch/
  make -C out/porch             compile it
  duskloom wiring porch.yaml    see how to wire it

Exit status: 0 fine; 1 the project or a check fails; 2 the command line is wrong; 3 a tool that is
needed is missing.";

#[derive(Debug, Subcommand)]
enum Command {
    New(new::New),
    Build(build::Build),
    Preview(preview::Preview),
    Curve(curve::Curve),
    Budget(budget::Budget),
    Diff(diff::Diff),
    Wiring(wiring::Wiring),
    Verify(verify::Verify),
    Chips(chips::Chips),
    Explain(explain::Explain),
    Keys(keys::Keys),
    Schema(schema::Schema),
    Completions(completions::Completions),
    Manual(manual::Manual),
}

/// What the person asked for. Ends the process where that cannot be understood.
pub(crate) fn read() -> CommandLine {
    CommandLine::parse()
}

impl CommandLine {
    /// Whom it is for.
    pub(crate) fn reader(&self) -> Format {
        match &self.command {
            Command::Build(build) => build.reader(),
            Command::Budget(budget) => budget.reader(),
            Command::Diff(diff) => diff.reader(),
            Command::Wiring(wiring) => wiring.reader(),
            Command::Verify(verify) => verify.reader(),
            Command::Curve(curve) => curve.reader(),
            Command::Chips(chips) => chips.reader(),
            Command::Explain(explain) => explain.reader(),
            Command::Keys(keys) => keys.reader(),
            Command::Preview(preview) => preview.reader(),
            Command::New(_) | Command::Schema(_) | Command::Completions(_) | Command::Manual(_) => {
                Format::Text
            }
        }
    }

    /// Does it.
    ///
    /// # Errors
    /// Why it could not be done.
    pub(crate) fn run(self) -> Result<(), Failure> {
        match self.command {
            Command::New(new) => new.run(),
            Command::Build(build) => build.run(),
            Command::Preview(preview) => preview.run(),
            Command::Curve(curve) => curve.run(),
            Command::Budget(budget) => budget.run(),
            Command::Diff(diff) => diff.run(),
            Command::Wiring(wiring) => wiring.run(),
            Command::Verify(verify) => verify.run(),
            Command::Chips(chips) => chips.run(),
            Command::Explain(explain) => explain.run(),
            Command::Keys(keys) => keys.run(),
            Command::Schema(schema) => schema.run(),
            Command::Completions(completions) => completions.run(),
            Command::Manual(manual) => manual.run(),
        }
    }
}

/// Tells the person or the script what went wrong, if anything, and the shell how it went.
pub(crate) fn conclude(outcome: Result<(), Failure>, reader: Format) -> ExitCode {
    let Err(failure) = outcome else {
        return ExitCode::SUCCESS;
    };
    let told = match (reader, failure.data()) {
        (Format::Json, Some(data)) if !screen::has_spoken() => {
            screen::json(&data).and_then(|json| screen::print(&json))
        }
        _ => Err(Failure::Unread),
    };
    if told.is_err() {
        screen::complain(&failure.to_string());
    }
    failure.status()
}
