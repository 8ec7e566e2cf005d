//! The catalogue of diagnostic codes: what `duskloom explain CODE` tells. The texts are Markdown,
//! one file a stage; each entry is a heading `# S011 Title` and what follows it.

use serde::Serialize;

/// The files of the catalogue, by the letter that their codes begin with.
const TEXTS: &[&str] = &[
    include_str!("codes/spec.md"),
    include_str!("codes/chip.md"),
    include_str!("codes/board.md"),
    include_str!("codes/patterns.md"),
    include_str!("codes/budget.md"),
];

/// What there is to know about a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Entry {
    /// Such as `S011`.
    pub code: &'static str,
    /// A few words.
    pub title: &'static str,
    /// Markdown: why it is an error, with an example of wrong and right.
    pub explanation: &'static str,
}

/// All codes, by stage and number.
pub fn all() -> impl Iterator<Item = Entry> {
    TEXTS
        .iter()
        .flat_map(|text| text.split("\n# "))
        .filter_map(entry)
}

/// The entry of a code, however it is capitalised.
pub fn find(code: &str) -> Option<Entry> {
    all().find(|entry| entry.code.eq_ignore_ascii_case(code.trim()))
}

fn entry(section: &'static str) -> Option<Entry> {
    let section = section.strip_prefix("# ").unwrap_or(section);
    let (heading, explanation) = section.split_once('\n')?;
    let (code, title) = heading.split_once(' ')?;
    Some(Entry {
        code,
        title: title.trim(),
        explanation: explanation.trim(),
    })
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::fs;
    use std::path::Path;

    use super::*;

    /// Every code that stands in quotes in the sources: a capital and three digits.
    fn used(folder: &Path, codes: &mut BTreeSet<String>) {
        for entry in fs::read_dir(folder).expect("a source folder") {
            let path = entry.expect("a folder entry").path();
            if path.is_dir() {
                used(&path, codes);
            } else if path.extension().is_some_and(|extension| extension == "rs")
                && path
                    != Path::new(concat!(
                        env!("CARGO_MANIFEST_DIR"),
                        "/src/diagnostic/codes.rs"
                    ))
            {
                let text = fs::read_to_string(path).expect("a source file");
                codes.extend(
                    text.split('"')
                        .filter(|word| is_code(word))
                        .map(str::to_string),
                );
            }
        }
    }

    fn is_code(word: &str) -> bool {
        matches!(word.as_bytes(), [b'A'..=b'Z', digits @ ..]
            if digits.len() == 3 && digits.iter().all(u8::is_ascii_digit))
    }

    #[test]
    fn every_code_is_explained_and_every_explanation_is_of_a_code() {
        let mut said = BTreeSet::new();
        used(
            Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src")),
            &mut said,
        );
        let explained: BTreeSet<_> = all().map(|entry| entry.code.to_string()).collect();
        assert_eq!(said, explained);
        assert_eq!(all().count(), explained.len(), "a code is explained twice");
    }

    #[test]
    fn entries_have_a_title_and_a_text() {
        for entry in all() {
            assert!(is_code(entry.code), "{entry:?}");
            assert!(
                !entry.title.is_empty() && entry.explanation.len() > 40,
                "{entry:?}"
            );
        }
        assert_eq!(find("s011").map(|entry| entry.code), Some("S011"));
        assert_eq!(find("S999"), None);
    }
}
