//! The command line tool.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    let asked = cli::read();
    let outcome = asked.run();
    cli::conclude(outcome)
}
