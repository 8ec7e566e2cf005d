//! `duskloom wiring`.

use std::path::PathBuf;

use clap::Args;

use duskloom::board;

use super::failure::Failure;
use super::file;
use super::project::ProjectFile;
use super::screen::{self, Format};

/// Show how to wire it: the package, the parts, the fuses, what to mind
///
/// Draws the chip from above with what goes to each leg; lists the parts with their values, worked out
/// from `strings`, `supply` and `charge_pump` where the project has them; and tells what each fuse bit
/// does, with the avrdude line that sets them and a warning before any that would shut the programmer
/// out. `build` writes the same to wiring.txt, to keep at the bench.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Wiring {
    #[command(flatten)]
    project: ProjectFile,
    /// Draw the package into this file instead, as a picture
    #[arg(long, value_name = "PICTURE", conflicts_with = "format")]
    svg: Option<PathBuf>,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const EXAMPLES: &str = "\
Examples:
  duskloom wiring porch.yaml
  duskloom wiring porch.yaml --svg porch-wiring.svg
  duskloom explain E001                         why a string may not get its current

Follow your local codes, and leave mains wiring to licensed people.";

impl Wiring {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        let design = self.project.design()?;
        screen::cautions(design.advice());
        let card = board::wiring(&design, &board::report(&design));
        if let Some(place) = self.svg {
            return file::write(&place, file::Kind::Svg, &card.svg());
        }
        screen::print(&match self.format {
            Format::Text => card.text(),
            Format::Json => screen::json(&card)?,
        })
    }
}
