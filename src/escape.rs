//! Text that a person chose, such as a file's name, within text that something reads: a terminal, a
//! comment, a review. A function for each kind of place, and no other way to get there.

use std::borrow::Cow;
use std::fmt::Write as _;

/// Whether a character shows as itself. Controls, marks of direction, invisible ones and those that
/// no standard defines do not; they can hide text, or steer a terminal.
pub fn is_shown(c: char) -> bool {
    if c.is_ascii() {
        return !c.is_ascii_control();
    }
    // Behind another character, the library escapes all but what is printed there.
    let mut text = String::from("a");
    text.push(c);
    text.escape_debug().count() == 2
}

/// Text for a terminal, or a report in a file: what does not show as itself is spelled out, such as
/// `\u{9b}`, but for line breaks and tabs.
pub fn shown(text: &str) -> Cow<'_, str> {
    spelled(text, |c| is_shown(c) || c == '\n' || c == '\t')
}

/// The same on one line.
pub fn line(text: &str) -> Cow<'_, str> {
    spelled(text, is_shown)
}

/// The same within a comment of any language that is generated, or a comment's Markdown: what could
/// end the comment, join it with the next line or mean something within it is spelled as in a URL
/// (RFC 3986, section 2.1).
pub fn comment(text: &str) -> Cow<'_, str> {
    let plain = |c: char| match c {
        ' ' | '-' | '_' | '.' | ',' | '+' | '=' | '@' | '~' | '(' | ')' => true,
        c => c.is_ascii_alphanumeric() || (!c.is_ascii() && is_shown(c)),
    };
    respelled(text, plain, |c, safe| {
        for byte in c.encode_utf8(&mut [0; 4]).bytes() {
            let _ = write!(safe, "%{byte:02X}");
        }
    })
}

/// A span of code in Markdown (CommonMark 0.31, section 6.1): it ends at as many backticks as began it.
pub fn code_span(text: &str) -> String {
    let text = line(text);
    let runs = text.split(|c| c != '`').map(str::len);
    let fence = "`".repeat(runs.max().unwrap_or(0) + 1);
    if text.starts_with('`') || text.ends_with('`') {
        format!("{fence} {text} {fence}")
    } else {
        format!("{fence}{text}{fence}")
    }
}

/// JSON, with what does not show as itself spelled as `\u009b` (RFC 8259, section 7). Such characters
/// stand in strings only.
pub fn json(text: &str) -> Cow<'_, str> {
    let plain = |c| is_shown(c) || c == '\n';
    respelled(text, plain, |c, safe| {
        for unit in c.encode_utf16(&mut [0; 2]) {
            let _ = write!(safe, "\\u{unit:04x}");
        }
    })
}

fn spelled(text: &str, plain: impl Fn(char) -> bool) -> Cow<'_, str> {
    respelled(text, plain, |c, safe| safe.extend(c.escape_unicode()))
}

/// The text, with what is not plain written as `spell` does.
fn respelled(
    text: &str,
    plain: impl Fn(char) -> bool,
    spell: impl Fn(char, &mut String),
) -> Cow<'_, str> {
    if text.chars().all(&plain) {
        return Cow::Borrowed(text);
    }
    let mut safe = String::new();
    for c in text.chars() {
        if plain(c) {
            safe.push(c);
        } else {
            spell(c, &mut safe);
        }
    }
    Cow::Owned(safe)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn letters_of_all_tongues_show_as_themselves() {
        for text in ["lämpchen ✨.yaml", "漁港", "e\u{301}te", "▁▂█ │ μ"] {
            assert_eq!(shown(text), text);
        }
        assert_eq!(
            shown("\u{9b}31m\u{202e}\u{7f}\t\n"),
            "\\u{9b}31m\\u{202e}\\u{7f}\t\n"
        );
        assert_eq!(line("a\nb"), "a\\u{a}b");
        assert_eq!(json("\"\u{9b}\u{e0001}\""), "\"\\u009b\\udb40\\udc01\"");
    }

    #[test]
    fn what_means_something_in_a_comment_is_spelled_out() {
        assert_eq!(comment("light 2 (new).yaml"), "light 2 (new).yaml");
        assert_eq!(
            comment("a*/$(touch x)??/\\\n#.yaml"),
            "a%2A%2F%24(touch x)%3F%3F%2F%5C%0A%23.yaml"
        );
    }

    #[test]
    fn code_spans_outlast_their_backticks() {
        assert_eq!(code_span("a.yaml"), "`a.yaml`");
        assert_eq!(code_span("a``b"), "```a``b```");
        assert_eq!(code_span("`a"), "`` `a ``");
    }

    proptest! {
        #[test]
        fn no_text_gets_out_of_its_place(text in any::<String>()) {
            prop_assert!(shown(&text).chars().all(|c| is_shown(c) || "\n\t".contains(c)));
            prop_assert!(line(&text).chars().all(is_shown));
            let comment = comment(&text);
            prop_assert!(comment.chars().all(is_shown));
            prop_assert!(!comment.contains(['*', '/', '\\', '$', '#', '?', '"', '\'', '<', '[', '`']));
            let data = serde_json::to_string(&text).expect("a string");
            let back: String = serde_json::from_str(&json(&data)).expect("still JSON");
            prop_assert_eq!(back, text);
        }
    }
}
