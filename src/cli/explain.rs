//! `duskloom explain`.

use clap::Args;

use duskloom::diagnostic::codes::{self, Entry};

use super::failure::Failure;
use super::screen::{self, Format};

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
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const EXAMPLES: &str = "\
Examples:
  duskloom explain S011
  duskloom explain | grep -i pin
  duskloom explain S011 --format json";

impl Explain {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        let entry = self.code.as_deref().map(found).transpose()?;
        screen::print(&match (self.format, entry) {
            (Format::Text, None) => list(),
            (Format::Text, Some(entry)) => text(entry),
            (Format::Json, None) => screen::json(&codes::all().collect::<Vec<_>>())?,
            (Format::Json, Some(entry)) => screen::json(&entry)?,
        })
    }
}

fn list() -> String {
    codes::all()
        .map(|entry| format!("{}  {}\n", entry.code, entry.title))
        .collect()
}

fn found(code: &str) -> Result<Entry, Failure> {
    codes::find(code).ok_or_else(|| {
        Failure::usage(format!("there is no code `{code}`"))
            .hint("`duskloom explain` lists all of them")
    })
}

fn text(entry: Entry) -> String {
    format!("{}: {}\n\n{}\n", entry.code, entry.title, entry.explanation)
}
