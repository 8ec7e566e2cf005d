//! `duskloom budget`.

use clap::{Args, ValueEnum};

use duskloom::budget::{Style, budget, objections, report};

use super::failure::Failure;
use super::project::ProjectFile;
use super::screen;

/// Show what the firmware takes of the chip: flash, memory, time
///
/// Works without a compiler: tables and assembly are counted, the C around them is estimated, never
/// below the truth. Fails if something is over its limit, and says what would save how much.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub struct Budget {
    #[command(flatten)]
    project: ProjectFile,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Use plain ASCII
    #[arg(long)]
    ascii: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Json,
}

const EXAMPLES: &str = "\
Examples:
  duskloom budget porch.yaml
  duskloom budget porch.yaml --format json";

impl Budget {
    pub fn run(self) -> Result<(), Failure> {
        let design = self.project.design()?;
        let verdict = budget(&design);
        let text = match self.format {
            Format::Text => report(&verdict, Style { ascii: self.ascii }),
            Format::Json => {
                let json = serde_json::to_string_pretty(&verdict);
                json.map_err(|error| Failure::world(error.to_string()))? + "\n"
            }
        };
        screen::print(&text)?;
        screen::objections(&design, objections(&design, &verdict))
    }
}
