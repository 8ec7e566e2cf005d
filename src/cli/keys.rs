//! `duskloom keys`.

use clap::Args;
use duskloom::spec::{self, Section};

use super::failure::Failure;
use super::screen::{self, Format};

/// Tell what every key of a project file means
///
/// Lists each mapping of the grammar with its keys: what may stand there, with its unit, what it means,
/// and what holds where it is left out. With a word, only what has to do with that key. It comes from the
/// same types that read projects.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Keys {
    /// A key, such as `battery` or `ease`
    #[arg(value_name = "KEY")]
    key: Option<String>,
    /// For people, or for scripts
    #[arg(long, value_enum, default_value_t = Format::Text)]
    format: Format,
}

const EXAMPLES: &str = "\
Examples:
  duskloom keys
  duskloom keys wave                  a step, with all that it takes
  duskloom keys current               wherever it stands";

/// The least room for words beside a key.
const LEAST: usize = 30;

impl Keys {
    pub(super) fn reader(&self) -> Format {
        self.format
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        let all = spec::reference();
        let some = match &self.key {
            Some(key) => about(&all, key).ok_or_else(|| unknown(&all, key))?,
            None => all,
        };
        screen::print(&match self.format {
            Format::Text => text(&some, screen::width()),
            Format::Json => screen::json(&some)?,
        })
    }
}

/// Sections that stand at a key, whole, and of others the key alone; `None`: there is no such key.
fn about(all: &[Section], key: &str) -> Option<Vec<Section>> {
    let at = |section: &Section| section.place.split(": ").any(|part| part == key);
    let some = all.iter().filter_map(|section| {
        let keys = section.keys.iter();
        let keys: Vec<_> = keys
            .filter(|own| at(section) || own.name == key)
            .cloned()
            .collect();
        let section = section.clone();
        (!keys.is_empty()).then_some(Section { keys, ..section })
    });
    let some: Vec<Section> = some.collect();
    (!some.is_empty()).then_some(some)
}

fn unknown(all: &[Section], key: &str) -> Failure {
    let meant = spec::nearest_key(all, key);
    let meant = meant.map_or(String::new(), |key| format!(" did you mean `{key}`?"));
    Failure::usage(format!(
        "there is no key `{key}`;{meant} `duskloom keys` lists all"
    ))
}

fn text(sections: &[Section], width: usize) -> String {
    let names = sections.iter().flat_map(|section| &section.keys);
    let indent = 4 + names.map(|key| key.name.len()).max().unwrap_or(0);
    let width = width.max(indent + LEAST);
    let mut text = String::new();
    for section in sections {
        text += &format!("{}\n", section.place);
        text += &wrapped(&section.about, "  ", "  ", width);
        for key in &section.keys {
            let name = format!("  {:<room$}", key.name, room = indent - 2);
            let blank = " ".repeat(indent);
            let needed = if key.required { "; needed" } else { "" };
            let value = format!("{}{needed}", key.value);
            text += &wrapped(&value, &name, &blank, width);
            text += &wrapped(&key.about, &blank, &blank, width);
        }
        text.push('\n');
    }
    text
}

/// Words in lines; none, no line.
fn wrapped(words: &str, first: &str, rest: &str, width: usize) -> String {
    if words.is_empty() {
        return String::new();
    }
    let options = textwrap::Options::new(width)
        .initial_indent(first)
        .subsequent_indent(rest);
    textwrap::fill(words, options) + "\n"
}
