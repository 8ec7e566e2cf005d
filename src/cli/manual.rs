//! `duskloom manual`.

use std::io;
use std::path::{Path, PathBuf};

use clap::{Args, Command, CommandFactory, ValueEnum};
use clap_complete::{Shell, generate_to};

use super::CommandLine;
use super::failure::Failure;

/// Write the manual pages and the completion scripts into a folder
///
/// One page a command, as `man` reads them, and a script for each shell: what a package for a
/// distribution carries besides the program.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Manual {
    /// The folder; made where there is none
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

const EXAMPLES: &str = "\
Examples:
  duskloom manual target/manual
  man target/manual/duskloom-build.1";

impl Manual {
    pub(super) fn run(self) -> Result<(), Failure> {
        let failure = |error: io::Error| Failure::file("write into", &self.folder, &error);
        std::fs::create_dir_all(&self.folder).map_err(failure)?;
        let mut command = CommandLine::command();
        command.build();
        pages(&command, &self.folder).map_err(failure)?;
        for &shell in Shell::value_variants() {
            generate_to(shell, &mut command, env!("CARGO_PKG_NAME"), &self.folder)
                .map_err(failure)?;
        }
        Ok(())
    }
}

/// Of a command and of those within it.
fn pages(command: &Command, folder: &Path) -> io::Result<()> {
    clap_mangen::Man::new(command.clone()).generate_to(folder)?;
    let within = command
        .get_subcommands()
        .filter(|one| one.get_name() != "help");
    within.into_iter().try_for_each(|one| pages(one, folder))
}
