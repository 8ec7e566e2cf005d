//! `duskloom build`.

use std::path::{Path, PathBuf};

use clap::Args;

use duskloom::budget;
use duskloom::design::Design;
use duskloom::emit::Language;

use super::built::Built;
use super::depfile;
use super::failure::Failure;
use super::folder::{Entry, Folder, State};
use super::language::LanguageChoice;
use super::outputs::{self, Extent};
use super::project::ProjectFile;
use super::screen::{self, Format};
use super::watch::{Again, again};

/// Write the firmware of a project
///
/// Writes C that `make` alone builds with avr-gcc, a timeline of every pattern, a wiring card and
/// the budget; writes nothing if the budget is not kept. With --to rust it writes a crate instead,
/// whose player runs on any microcontroller, and in its folder firmware/ the same firmware for the
/// chip.
///
/// Files that would not change are left alone, and a file that you have changed is never overwritten
/// unless you say --force: such changes are better made in the project.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Build {
    #[command(flatten)]
    project: ProjectFile,
    #[command(flatten)]
    language: LanguageChoice,
    /// Folder to write to [default: out/<project>, or out/<project>-rust]
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Write nothing; fail if the folder is not what would be written
    #[arg(long, conflicts_with = "force")]
    check: bool,
    /// Write tables and player only, for a main program of your own
    #[arg(long, conflicts_with = "watch")]
    player_only: bool,
    /// Overwrite files that were changed by hand
    #[arg(long)]
    force: bool,
    /// Print nothing when all is well
    #[arg(short, long)]
    quiet: bool,
    #[command(flatten)]
    again: Again,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
    /// Also write on which files the tables depend, for Make and Ninja, and mark files that stay the same
    /// as made now
    #[arg(long, value_name = "FILE", conflicts_with = "check")]
    depfile: Option<PathBuf>,
}

/// Rust's share of the chip is known to its compiler alone.
const NEXT_IN_RUST: &str = "\
README.md says how to compile the firmware, which fails if it takes more flash or RAM than the chip
has, about twice as much as C; `duskloom verify FILE --to rust` measures it.
";

const EXAMPLES: &str = "\
Examples:
  duskloom build porch.yaml                   write out/porch/
  make -C out/porch                           compile it
  make -C out/porch flash                     program the chip with avrdude
  duskloom build porch.yaml --to rust         write out/porch-rust/, a crate
  duskloom build porch.yaml --check           in CI: is what is committed up to date?
  duskloom build porch.yaml --player-only --out src/light
  duskloom build porch.yaml -q --depfile out/porch.d     as a rule of Make or Ninja";

impl Build {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        if self.again.watch {
            return again(&self.project, |design| self.build(design, Extent::Whole));
        }
        if self.player_only {
            self.build(&self.project.embedded()?, Extent::Player)
        } else {
            self.build(&self.project.design()?, Extent::Whole)
        }
    }

    fn build(&self, design: &Design, extent: Extent) -> Result<(), Failure> {
        let language = self.language.language();
        let sources = match extent {
            Extent::Whole => language.firmware(design),
            Extent::Player => language.player(design),
        };
        let verdict = match (extent, language) {
            (Extent::Whole, Language::C) => Some(budget::budget_of(design, &sources)),
            _ => None,
        };
        let objections = match (extent, &verdict) {
            (Extent::Player, _) => Vec::new(),
            (Extent::Whole, Some(verdict)) => verdict.objections(),
            (Extent::Whole, None) => budget::objections_to_rust(design),
        };
        screen::objections(design, objections)?;
        if !self.quiet {
            screen::cautions(design.advice());
        }
        let files = outputs::all(design, sources, verdict.as_ref());
        let path = self.out.clone();
        let path = path.unwrap_or_else(|| default_folder(design, language));
        let rule = match &self.depfile {
            Some(_) => Some(depfile::rule(&path, &files, &design.project.sources)?),
            None => None,
        };
        let mut folder = if self.check {
            Folder::to_read(path.clone())?
        } else {
            Folder::to_write(path.clone())?
        };
        let entries = folder.compare(&files)?;
        if self.check {
            if self.format == Format::Text {
                check(&folder, &entries)?;
            }
        } else {
            if !self.force {
                spare_edits(&folder, &entries)?;
            }
            folder.update(&files, &entries)?;
        }
        if let (Some(depfile), Some(rule)) = (&self.depfile, rule) {
            folder.freshen(&entries, &design.project.sources)?;
            depfile::write(depfile, &rule)?;
        }
        let differs = self.check && entries.iter().any(|entry| entry.state != State::Same);
        if self.quiet && !differs {
            return Ok(());
        }
        let built = Built {
            design,
            folder: &path,
            entries: &entries,
            checked: self.check,
            verdict: verdict.as_ref(),
            next: match (extent, language) {
                (Extent::Whole, Language::Rust) => NEXT_IN_RUST,
                _ => "",
            },
        };
        screen::print(&match self.format {
            Format::Text => built.text(),
            Format::Json => screen::json(&built.data())?,
        })?;
        if differs {
            return Err(Failure::Differs);
        }
        Ok(())
    }
}

/// A folder for each language, so that both can stand side by side.
fn default_folder(design: &Design, language: Language) -> PathBuf {
    let name = &design.project.name.value;
    Path::new("out").join(match language {
        Language::C => name.clone(),
        Language::Rust => format!("{name}-rust"),
    })
}

/// Fails if any file is not as it would be written.
fn check(folder: &Folder, entries: &[Entry]) -> Result<(), Failure> {
    let wrong: String = entries
        .iter()
        .filter_map(|entry| {
            let fault = match entry.state {
                State::Same => return None,
                State::Missing => "is missing",
                State::Stale | State::Edited => "differs",
                State::LeftOver | State::EditedLeftOver => "is left over",
            };
            Some(format!(
                "\n  {} {fault}",
                folder.place(&entry.path).display()
            ))
        })
        .collect();
    if wrong.is_empty() {
        return Ok(());
    }
    Err(
        Failure::world(format!("the folder is not what would be written:{wrong}"))
            .hint("run the same command without --check"),
    )
}

/// Fails if anything would be lost that somebody wrote.
fn spare_edits(folder: &Folder, entries: &[Entry]) -> Result<(), Failure> {
    let edited: String = entries
        .iter()
        .filter(|entry| entry.state == State::Edited)
        .map(|entry| format!("\n  {}", folder.place(&entry.path).display()))
        .collect();
    if edited.is_empty() {
        return Ok(());
    }
    Err(
        Failure::world(format!("changed by hand since it was generated:{edited}")).hint(
            "move your change to the project or to a file of your own, or overwrite it with --force",
        ),
    )
}
