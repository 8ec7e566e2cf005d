//! `duskloom completions`.

use clap::{Args, CommandFactory};
use clap_complete::{Shell, generate};

use super::failure::Failure;
use super::{CommandLine, screen};

/// Print a completion script for your shell
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Completions {
    /// The shell to print it for
    shell: Shell,
}

const EXAMPLES: &str = "\
Examples:
  bash: duskloom completions bash > ~/.local/share/bash-completion/completions/duskloom
  fish: duskloom completions fish > ~/.config/fish/completions/duskloom.fish
  zsh:  duskloom completions zsh > \"${fpath[1]}/_duskloom\"";

impl Completions {
    pub(super) fn run(self) -> Result<(), Failure> {
        let mut script = Vec::new();
        generate(
            self.shell,
            &mut CommandLine::command(),
            env!("CARGO_PKG_NAME"),
            &mut script,
        );
        screen::print(&String::from_utf8_lossy(&script))
    }
}
