//! `duskloom explain`.

use clap::Args;

use duskloom::diagnostic::codes;

use super::failure::Failure;
use super::screen;

/// Tell more about the code of an error or a caution
///
/// Every error and caution has a code such as S011. This tells why it is one, and shows a wrong and
/// a right example. Without a code, it lists all of them.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Explain {
    /// The code, such as S011; all are listed without one
    #[arg(value_name = "CODE")]
    code: Option<String>,
}

const EXAMPLES: &str = "\
Examples:
  duskloom explain S011
  duskloom explain | grep -i pin";

impl Explain {
    pub(super) fn run(self) -> Result<(), Failure> {
        match self.code {
            None => screen::print(&list()),
            Some(code) => screen::print(&entry(&code)?),
        }
    }
}

fn list() -> String {
    codes::all()
        .map(|entry| format!("{}  {}\n", entry.code, entry.title))
        .collect()
}

fn entry(code: &str) -> Result<String, Failure> {
    let entry = codes::find(code).ok_or_else(|| {
        Failure::usage(format!("there is no code `{code}`"))
            .hint("`duskloom explain` lists all of them")
    })?;
    Ok(format!(
        "{}: {}\n\n{}\n",
        entry.code, entry.title, entry.explanation
    ))
}
