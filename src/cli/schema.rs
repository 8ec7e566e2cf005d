//! `duskloom schema`.

use clap::Args;

use duskloom::spec;

use super::failure::Failure;
use super::screen;

/// Print the JSON Schema of project files, for editors
///
/// An editor that knows it completes keys, shows what they mean, and marks what is wrong while you
/// type. It comes from the same types that read projects.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Schema {
    /// The schema of pattern libraries instead
    #[arg(long)]
    library: bool,
}

const EXAMPLES: &str = "\
Examples:
  duskloom schema > duskloom.schema.json

Many editors look for this line in a YAML file:
  # yaml-language-server: $schema=duskloom.schema.json";

impl Schema {
    pub(super) fn run(self) -> Result<(), Failure> {
        let schema = if self.library {
            spec::library_schema()
        } else {
            spec::schema()
        };
        screen::print(&screen::json(&schema)?)
    }
}
