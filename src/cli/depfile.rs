//! On which files generated ones depend, as Make includes it and Ninja reads it.

use std::path::Path;

use duskloom::diagnostic::Sources;
use duskloom::emit::SourceFile;
use duskloom::escape;

use super::failure::Failure;
use super::file;

/// The file that stands for all of them. Make goes by the files that the person's rules name, and Ninja
/// wants every output of a depfile to be declared, so it is one that every build has.
const STANDS_FOR_ALL: &str = "tables.";

/// The rule `generated tables: project and libraries`.
///
/// # Errors
/// A name cannot be written so that both read it.
pub(super) fn rule(
    folder: &Path,
    files: &[SourceFile],
    sources: &Sources,
) -> Result<String, Failure> {
    let mut names = files.iter().map(|file| file.path.as_str());
    let tables = names.find(|name| name.contains(STANDS_FOR_ALL));
    let tables = escaped(&folder.join(tables.unwrap_or_default()))?;
    let needs = sources.iter().map(|source| escaped(&source.path));
    let needs: Vec<String> = needs.collect::<Result<_, _>>()?;
    Ok(format!("{tables}: {}\n", needs.join(" ")))
}

/// Writes a rule. Takes the place of such a rule only.
///
/// # Errors
/// Something else is there, or it cannot be written.
pub(super) fn write(path: &Path, rule: &str) -> Result<(), Failure> {
    file::replace(path, rule, "a list of what depends", is_rule)
}

/// A single line: files, a colon, files.
fn is_rule(there: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(there) else {
        return false;
    };
    text.ends_with('\n') && text.lines().count() == 1 && text.contains(": ")
}

/// A path as both take it.
///
/// # Errors
/// It has a character that ends a rule, or that means something to Make and cannot be escaped for both.
fn escaped(path: &Path) -> Result<String, Failure> {
    let Some(name) = path.to_str() else {
        return Err(refused(path, "what is no text"));
    };
    let mut text = String::new();
    for letter in name.chars() {
        match letter {
            ' ' | '#' => text.extend(['\\', letter]),
            '$' => text.push_str("$$"),
            '\\' | ':' | ';' | '%' | '=' | '*' | '?' | '[' | ']' | '|' | '&' | '~' => {
                return Err(refused(path, &format!("`{letter}`")));
            }
            _ if !escape::is_shown(letter) => {
                return Err(refused(path, "a character that does not show"));
            }
            _ => text.push(letter),
        }
    }
    Ok(text)
}

fn refused(path: &Path, what: &str) -> Failure {
    let path = path.display().to_string();
    let name = escape::line(&path);
    Failure::world(format!("a rule cannot name `{name}`: it has {what}"))
        .hint("rename it, or build without --depfile")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_letters_are_escaped() {
        assert_eq!(
            escaped(Path::new("my lights/#1 $.yaml")).ok().as_deref(),
            Some("my\\ lights/\\#1\\ $$.yaml")
        );
    }

    #[test]
    fn what_ends_a_rule_or_means_something_in_it_is_refused() {
        for name in [
            "a\n\tid", "a\r", "a:b", "a%b", "a*b", "a\\", "~a", "a\u{9b}", "a;b",
        ] {
            assert!(escaped(Path::new(name)).is_err(), "{name:?}");
        }
    }

    #[test]
    fn a_project_is_no_rule() {
        assert!(is_rule(b"out/b.c: a.yaml b.yaml\n"));
        assert!(!is_rule(b"chip: attiny13a\nchannels: 1\n"));
    }
}
