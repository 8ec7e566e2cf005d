//! `duskloom curve`.

use std::path::PathBuf;

use clap::{Args, value_parser};

use duskloom::board::lamps;
use duskloom::curve::{self, Style, report};
use duskloom::design::Design;
use duskloom::picture;

use super::failure::Failure;
use super::file;
use super::project::ProjectFile;
use super::screen::{self, Format};
use super::watch::{Again, again};

/// Show the brightness levels: lightness, duty, errors, a plot
///
/// Tells what each level puts out and how near that is to what was meant, in L* (CIE 1976), of which
/// 1 is just noticeable side by side; and what other ways to store the curve would cost in flash.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Curve {
    #[command(flatten)]
    project: ProjectFile,
    /// Show every so many levels in the table
    #[arg(short, long, value_name = "N", default_value = "1", value_parser = value_parser!(u16).range(1..))]
    every: u16,
    #[command(flatten)]
    again: Again,
    /// Use plain ASCII
    #[arg(long)]
    ascii: bool,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Draw curve and error as a picture instead; `-` prints it
    #[arg(long, value_name = "FILE", conflicts_with_all = ["every", "ascii", "format"])]
    svg: Option<PathBuf>,
}

const EXAMPLES: &str = "\
Examples:
  duskloom curve porch.yaml
  duskloom curve porch.yaml --every 8
  duskloom curve porch.yaml --svg curve.svg
  duskloom curve porch.yaml --format json";

impl Curve {
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
        if let Some(svg) = &self.svg {
            return file::write(
                svg,
                file::Kind::Svg,
                &picture::curve(design, &lamps(design)),
            );
        }
        if self.format == Format::Json {
            return screen::print(&screen::json(&curve::data(design))?);
        }
        let style = Style {
            every: usize::from(self.every),
            ascii: self.ascii,
        };
        screen::print(&report(design, &style))
    }
}
