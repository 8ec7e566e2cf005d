//! The catalogue of diagnostic codes: what `duskloom explain CODE` tells. The texts are Markdown,
//! one file a stage; each entry is a heading `# S011 Title` and what follows it.

/// The files of the catalogue, by the letter that their codes begin with.
const TEXTS: &[&str] = &[include_str!("codes/spec.md"), include_str!("codes/chip.md")];

/// What there is to know about a code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
