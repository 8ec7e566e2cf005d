//! On which files generated ones depend, as Make includes it and Ninja reads it.

use std::fs;
use std::path::Path;

use duskloom::diagnostic::Sources;
use duskloom::emit::SourceFile;

use super::failure::Failure;
use super::file;
use super::folder::Folder;

/// Ninja wants the first output of its edge to come first, so those do that are always there.
const FIRST: &str = "tables.";

/// Writes the rule `generated files: project and libraries`. Takes the place of such a rule only.
///
/// # Errors
/// Something else is there, or it cannot be written.
pub fn write(
    path: &Path,
    folder: &Folder,
    files: &[SourceFile],
    sources: &Sources,
) -> Result<(), Failure> {
    let mut names: Vec<&str> = files.iter().map(|file| file.path.as_str()).collect();
    names.sort_by_key(|name| !name.contains(FIRST));
    let targets: Vec<String> = names
        .iter()
        .map(|name| escaped(&folder.place(name)))
        .collect();
    let needs: Vec<String> = sources.iter().map(|source| escaped(&source.path)).collect();
    let rule = format!("{}: {}\n", targets.join(" "), needs.join(" "));
    match fs::read_to_string(path) {
        Ok(there) if !there.is_empty() && !is_rule(&there) => {
            let message = format!(
                "{} is there, and not a list of what depends",
                path.display()
            );
            Err(Failure::world(message).hint("give another name, or move it away"))
        }
        Ok(there) if there == rule => Ok(()),
        _ => file::write_whole(path, &rule),
    }
}

/// A single line: files, a colon, files.
fn is_rule(text: &str) -> bool {
    text.ends_with('\n') && text.lines().count() == 1 && text.contains(": ")
}

/// A path as both take it.
fn escaped(path: &Path) -> String {
    let mut text = String::new();
    for letter in path.to_string_lossy().chars() {
        match letter {
            ' ' | '#' => text.extend(['\\', letter]),
            '$' => text.push_str("$$"),
            _ => text.push(letter),
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_letters_are_escaped() {
        assert_eq!(
            escaped(Path::new("my lights/#1 $.yaml")),
            "my\\ lights/\\#1\\ $$.yaml"
        );
    }

    #[test]
    fn a_project_is_no_rule() {
        assert!(is_rule("out/a.c out/b.c: a.yaml b.yaml\n"));
        assert!(!is_rule("chip: attiny13a\nchannels: 1\n"));
    }
}
