//! `duskloom new`.

use std::fs::OpenOptions;
use std::io::{ErrorKind, Write};
use std::path::PathBuf;

use clap::Args;
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use duskloom::spec;

use super::beginning::{Beginning, Refusal, WORDS, Word};
use super::failure::Failure;
use super::{chips, screen};

/// Write a commented project to start from
///
/// Writes NAME.yaml into the current folder: some strings of lights on the chip's own pins, some
/// patterns, a button, and what else --with asks for, each at a pin that suits it. It builds as it
/// is; change it until it is yours. A file that is already there is never overwritten.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct New {
    /// The project's name: lower case letters, digits and hyphens
    #[arg(value_name = "NAME", value_parser = name)]
    name: String,
    /// The chip that the lights will have, as `duskloom chips` lists them [default: attiny2313a, or the
    /// nearest to it that can have what is asked for]
    #[arg(long, value_name = "CHIP")]
    chip: Option<String>,
    /// What else it has, separated by commas
    #[arg(long, value_name = "WORDS", value_delimiter = ',', value_parser = words())]
    with: Vec<&'static Word>,
}

/// The chip, unless told.
const USUAL: &str = "attiny2313a";

const EXAMPLES: &str = "\
Examples:
  duskloom new porch && duskloom preview porch.yaml
  duskloom new porch --chip attiny85
  duskloom new porch --chip attiny84a --with sensor,knob,evening";

/// Any of the table.
fn words() -> impl TypedValueParser<Value = &'static Word> {
    let values = WORDS.iter();
    let values = values.map(|word| PossibleValue::new(word.word).help(word.help));
    PossibleValuesParser::new(values).map(|text| {
        let named = WORDS.iter().find(|word| word.word == text);
        named.expect("one of the possible values")
    })
}

fn name(text: &str) -> Result<String, String> {
    match spec::check_name(text) {
        Ok(()) => Ok(text.to_string()),
        Err(better) if better.is_empty() || better == text => {
            Err("expected letters, digits and hyphens, all lower case, a letter first".to_string())
        }
        Err(better) => Err(format!("it could be `{better}`")),
    }
}

impl New {
    pub(super) fn run(self) -> Result<(), Failure> {
        let name = self.name;
        let chip = chips::found(self.chip.as_deref().unwrap_or(USUAL))?;
        let refused = |refusal: Refusal| {
            let instead = refusal.instead(&self.with);
            Failure::usage(refusal.message).hint(instead)
        };
        let (beginning, chosen) = match Beginning::with(chip, &name, &self.with) {
            Err(refusal) if self.chip.is_none() => match refusal.nearest(&name, &self.with) {
                Some((other, beginning)) => (beginning, format!(" for the {}", other.title)),
                None => return Err(refused(refusal)),
            },
            other => (other.map_err(refused)?, String::new()),
        };
        let path = PathBuf::from(format!("{name}.yaml"));
        let mut file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(&path)
            .map_err(|error| match error.kind() {
                ErrorKind::AlreadyExists => {
                    Failure::world(format!("{} is already there", path.display()))
                        .hint("choose another name; `new` never overwrites a file")
                }
                _ => Failure::file("write", &path, &error),
            })?;
        let text = beginning.text() + "\n";
        file.write_all(text.as_bytes())
            .map_err(|error| Failure::file("write", &path, &error))?;
        screen::print(&format!(
            "wrote {name}.yaml{chosen}\n\n  \
             look at it  duskloom preview {name}.yaml\n  \
             build it    duskloom build {name}.yaml\n"
        ))
    }
}
