//! `duskloom budget`.

use clap::Args;

use duskloom::budget::{Style, budget, report};
use duskloom::design::Design;

use super::failure::Failure;
use super::project::ProjectFile;
use super::screen::{self, Format};
use super::watch::{Again, again};

/// Show whether it fits: flash, memory, time, current, flicker, flashes
///
/// Works without a compiler: tables and assembly are counted, the C around them is estimated, never
/// below the truth. Currents, flicker and flashes come from an exact model of the firmware: patterns
/// with chance are played for many minutes. Fails if something is over its limit, and says what would
/// help.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Budget {
    #[command(flatten)]
    project: ProjectFile,
    /// Print nothing when all is well
    #[arg(short, long)]
    quiet: bool,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Show the board as well: strings, charge pump, what each pattern and show draws, clock
    #[arg(long)]
    board: bool,
    #[command(flatten)]
    again: Again,
    /// Use plain ASCII
    #[arg(long)]
    ascii: bool,
}

const EXAMPLES: &str = "\
Examples:
  duskloom budget porch.yaml
  duskloom budget porch.yaml --board
  duskloom budget porch.yaml --quiet            in a script: does it fit?
  duskloom budget porch.yaml --format json";

impl Budget {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        if self.again.watch {
            return again(&self.project, |design| self.show(design));
        }
        self.show(&self.project.design()?)
    }

    fn show(&self, design: &Design) -> Result<(), Failure> {
        let verdict = budget(design);
        if self.quiet {
            return screen::objections(design, verdict.objections());
        }
        let text = match self.format {
            Format::Text => {
                let fits = report(&verdict, Style { ascii: self.ascii });
                if self.board {
                    format!("{fits}\n{}", verdict.board.text())
                } else {
                    fits
                }
            }
            Format::Json => screen::json(&verdict)?,
        };
        screen::print(&text)?;
        screen::objections(design, verdict.objections())
    }
}
