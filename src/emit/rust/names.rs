//! The names of a project as Rust has them.

use serde::Serialize;

use crate::design::Design;

#[derive(Debug, Serialize)]
pub(super) struct Names {
    package: String,
    /// The package's name in source text.
    library: String,
    /// The project file's name, as a module.
    module: String,
    scenes: Vec<SceneName>,
    outputs: Vec<OutputType>,
}

#[derive(Debug, Serialize)]
struct SceneName {
    name: String,
    constant: String,
    function: String,
}

/// A channel as an output of its own type.
#[derive(Debug, Serialize)]
struct OutputType {
    name: String,
    field: String,
    letter: char,
    variable: char,
}

/// What cargo or Rust would take for something else (the Rust Reference, "Keywords"; `cargo new`).
const RESERVED: &[&str] = &[
    "abstract",
    "alloc",
    "as",
    "async",
    "await",
    "become",
    "box",
    "break",
    "build",
    "const",
    "continue",
    "core",
    "crate",
    "deps",
    "do",
    "dyn",
    "else",
    "embedded_hal",
    "enum",
    "examples",
    "extern",
    "false",
    "final",
    "fn",
    "for",
    "gen",
    "if",
    "impl",
    "in",
    "incremental",
    "let",
    "loop",
    "macro",
    "match",
    "mod",
    "move",
    "mut",
    "override",
    "priv",
    "proc_macro",
    "pub",
    "ref",
    "return",
    "self",
    "static",
    "std",
    "struct",
    "super",
    "test",
    "trait",
    "true",
    "try",
    "type",
    "typeof",
    "unsafe",
    "unsized",
    "use",
    "virtual",
    "where",
    "while",
    "yield",
];

impl Names {
    pub(super) fn new(design: &Design) -> Self {
        let package = package(&design.project.name.value);
        Self {
            library: package.replace('-', "_"),
            package,
            module: module(design),
            scenes: scenes(design),
            outputs: outputs(design),
        }
    }
}

/// The package of a project's crate, and its firmware's name.
pub fn package(name: &str) -> String {
    let word = name.replace('-', "_");
    if RESERVED.contains(&word.as_str()) {
        format!("{name}-light")
    } else {
        name.to_string()
    }
}

fn module(design: &Design) -> String {
    let file = crate::emit::source_name(design);
    let stem = file.split('.').next().unwrap_or_default();
    identifier(snake(stem))
}

fn scenes(design: &Design) -> Vec<SceneName> {
    let mut taken = vec!["count".to_string()];
    let scenes = design.deck.image.score.scenes.iter();
    scenes
        .map(|scene| {
            let word = unlike(snake(&scene.name), &mut taken);
            SceneName {
                name: scene.name.clone(),
                constant: word.to_uppercase(),
                function: format!("plays_{word}"),
            }
        })
        .collect()
}

fn outputs(design: &Design) -> Vec<OutputType> {
    let output = |(channel, letter): (&crate::spec::Channel, char)| {
        let name = channel.name.value.clone();
        OutputType {
            field: identifier(snake(&name)),
            name,
            letter,
            variable: letter.to_ascii_lowercase(),
        }
    };
    let channels = design.project.channels.iter();
    channels.zip('A'..='Z').map(output).collect()
}

/// The word, or something near it that Rust takes as a name.
fn identifier(word: String) -> String {
    if RESERVED.contains(&word.as_str()) {
        format!("{word}_")
    } else if !word.starts_with(|c: char| c.is_ascii_alphabetic()) {
        format!("light_{word}")
    } else {
        word
    }
}

/// Letters and digits, with underscores for all between.
fn snake(name: &str) -> String {
    let words = name.split(|c: char| !c.is_ascii_alphanumeric());
    let words: Vec<String> = words
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .collect();
    words.join("_")
}

/// The word, or the word with the first number that makes it unlike those that are taken.
fn unlike(word: String, taken: &mut Vec<String>) -> String {
    let numbered = (2..).map(|n| format!("{word}_{n}"));
    let free = std::iter::once(word.clone())
        .chain(numbered)
        .find(|word| !taken.contains(word))
        .expect("numbers do not end");
    taken.push(free.clone());
    free
}
