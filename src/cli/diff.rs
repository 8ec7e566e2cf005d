//! `duskloom diff`.

use clap::{Args, ValueEnum};

use duskloom::design::Design;
use duskloom::diff::{self, Difference};
use duskloom::escape;
use duskloom::preview::{Glyphs, Style};

use super::failure::Failure;
use super::revision::Version;
use super::screen;

/// Say what changes between two versions of a project
///
/// What was decided first, such as a curve or a chip; then the light: patterns that are added, removed
/// or changed, when, and how much; then tables and budget. Both versions are played by the exact model of the firmware. A
/// version is a file, or REV:path as git has it, with the libraries of that revision: the path is from the
/// top of the repository, and from here if it begins with `./` or `../`.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Diff {
    /// The version before: FILE, or REV:FILE
    #[arg(value_name = "OLD")]
    old: String,
    /// The version after: FILE, or REV:FILE
    #[arg(value_name = "NEW")]
    new: String,
    /// Tell of this pattern only; can be given several times [default: all that differs]
    #[arg(short, long, value_name = "NAME", conflicts_with = "all")]
    pattern: Vec<String>,
    /// Print nothing when all is well
    #[arg(short, long)]
    quiet: bool,
    /// Tell the rows of the budget that are the same, too
    #[arg(long)]
    all: bool,
    /// Width of the timelines in columns
    #[arg(short, long, value_name = "COLUMNS", value_parser = clap::value_parser!(u16).range(40..=400))]
    width: Option<u16>,
    /// Use plain ASCII
    #[arg(long)]
    ascii: bool,
    /// For people, for a review, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    Text,
    Markdown,
    Json,
}

const EXAMPLES: &str = "\
Examples:
  duskloom diff HEAD:porch.yaml porch.yaml          what have I changed?
  duskloom diff HEAD:porch.yaml porch.yaml --pattern dusk
  duskloom diff v1.0:porch.yaml v1.1:porch.yaml --format markdown

Exit status: 0 the versions are the same; 1 they differ; 2 one of them is wrong.";

impl Diff {
    pub(super) fn reader(&self) -> screen::Format {
        match self.format {
            Format::Json => screen::Format::Json,
            Format::Text | Format::Markdown => screen::Format::Text,
        }
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        let old = read("old", &self.old)?;
        let new = read("new", &self.new)?;
        let style = Style {
            width: self.width.map_or(diff::STYLE.width, usize::from),
            glyphs: if self.ascii {
                Glyphs::Ascii
            } else {
                diff::STYLE.glyphs
            },
        };
        let difference = diff::diff_drawn((&self.old, &old), (&self.new, &new), &style);
        let difference = match self.pattern[..] {
            [] => difference,
            _ => {
                self.ensure_patterns(&old, &new)?;
                difference.of(&self.pattern)
            }
        };
        if difference.is_none() && self.quiet {
            return Ok(());
        }
        screen::print(&self.shown(&difference)?)?;
        if difference.is_none() {
            Ok(())
        } else {
            Err(Failure::Differs)
        }
    }

    /// That one of the versions has each pattern that is asked for.
    fn ensure_patterns(&self, old: &Design, new: &Design) -> Result<(), Failure> {
        let of = |design: &Design| {
            let patterns = design.project.patterns.iter();
            let names = patterns.map(|pattern| pattern.name.value.clone());
            names.collect::<Vec<_>>()
        };
        let mut known = of(new);
        known.extend(of(old).into_iter().filter(|name| !of(new).contains(name)));
        match self.pattern.iter().find(|name| !known.contains(name)) {
            None => Ok(()),
            Some(name) => Err(
                Failure::usage(format!("neither version has a pattern `{name}`"))
                    .hint(format!("there is {}", known.join(", "))),
            ),
        }
    }

    fn shown(&self, difference: &Difference) -> Result<String, Failure> {
        Ok(match self.format {
            Format::Text if self.ascii => diff::text(difference, self.all).replace('→', "->"),
            Format::Text => diff::text(difference, self.all),
            Format::Markdown => diff::markdown(difference, self.all),
            Format::Json => screen::json(difference)?,
        })
    }
}

/// Reads a version; says which one it is that is wrong.
fn read(which: &str, text: &str) -> Result<Design, Failure> {
    Version::of(text).design().map_err(|failure| {
        let text = escape::line(text);
        screen::complain(&format!("in the {which} version, {text}:\n"));
        match failure {
            Failure::Project(report) => Failure::Incomparable(report),
            other => other,
        }
    })
}
