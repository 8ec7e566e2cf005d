//! The command line tool.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    let asked = cli::read();
    let reader = asked.reader();
    cli::conclude(asked.run(), reader)
}
