//! On which files generated ones depend, as Make includes it and Ninja reads it.

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
    file::replace(path, &rule, "a list of what depends", is_rule)
}

/// A single line: files, a colon, files.
fn is_rule(there: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(there) else {
        return false;
    };
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
        assert!(is_rule(b"out/a.c out/b.c: a.yaml b.yaml\n"));
        assert!(!is_rule(b"chip: attiny13a\nchannels: 1\n"));
    }
}
