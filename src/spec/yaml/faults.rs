//! What is said of text that is not the YAML of a light project.

use std::borrow::Cow;

use super::limits::{DEPTH, STRETCH};
use crate::diagnostic::{Diagnostic, Span, Spanned, short};

/// What the parser could not make sense of, and what people usually got wrong there.
pub(super) fn syntax(info: &str, text: &str, span: Span) -> Diagnostic {
    if info.contains("recursion limit") {
        return too_deep(span);
    }
    if info.contains("anchor") {
        return Diagnostic::error("S006", span, "an alias without an anchor")
            .label("nothing before this has that anchor")
            .hint("mark the first place with `&name`, and repeat it with `*name`");
    }
    let within_brackets = info.contains("flow") || info.contains("indentation");
    let unclosed = within_brackets.then(|| unclosed(text, span)).flatten();
    if let Some((span, closing)) = unclosed {
        let line = text[span.start as usize..]
            .lines()
            .next()
            .unwrap_or_default();
        let comment = line.find(" #").map(|at| &line[at + 1..]);
        return Diagnostic::error("S004", span, "this is not YAML: a bracket is not closed")
            .label("opened here")
            .hint(match comment.filter(|comment| comment.contains(closing)) {
                Some(comment) => format!(
                    "YAML takes `{}` for a comment: put what has a `#` in quotes",
                    short(comment)
                ),
                None => format!("a `{closing}` is missing at its end, or a comma within"),
            });
    }
    let line_start = text[..span.start as usize]
        .rfind('\n')
        .map_or(0, |at| at + 1);
    let line = text[line_start..].lines().next().unwrap_or_default();
    let indent = &line[..line.len() - line.trim_start().len()];
    let mut start = line_start;
    let before = text[..line_start]
        .split_inclusive('\n')
        .rev()
        .find_map(|line| {
            start -= line.len();
            (!line.trim().is_empty()).then_some((start, line))
        });
    let bare = |(start, line): (usize, &str)| {
        let name = line.trim();
        let start = start + line.len() - line.trim_start().len();
        let word = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        let span = Span {
            start: start as u32,
            end: (start + name.len()) as u32,
            ..span
        };
        (!name.starts_with('-') && name.chars().all(word)).then(|| (name.to_string(), span))
    };
    let uncoloned = before
        .and_then(bare)
        .filter(|_| info.contains("mapping values"));
    if let Some((name, span)) = uncoloned {
        return Diagnostic::error("S004", span, "this is not YAML: a colon is missing")
            .label(format!("expected `{}:`", short(&name)))
            .hint("a colon follows a key, and a space the colon");
    }
    let hint = if info.contains("escape") {
        "between double quotes `\\` begins an escape; single quotes take text as it is"
    } else if line[indent.len()..].contains('\t') {
        "a tab is no space in YAML; replace it"
    } else if info.contains("%") {
        "what begins with `%` needs quotes; a percentage is written `100 %`"
    } else if indent.contains('\t') || text[span.range()].contains('\t') {
        "YAML is indented with spaces; replace the tab"
    } else if line.matches(": ").count() > 1 && !line.contains('{') {
        "two keys on one line need braces: `{to: 100 %, over: 2 s}`"
    } else if info.contains("flow") {
        "a `{` or `[` before this is not closed, or a comma is missing"
    } else if info.contains("quoted") {
        "a quote is not closed"
    } else {
        "check indentation, brackets, quotes and the space after each `:`"
    };
    Diagnostic::error("S004", span, format!("this is not YAML: {info}"))
        .label("the parser gave up here")
        .hint(hint)
}

/// The innermost bracket that is open where the parser gave up, if that is on a later line, and what would
/// close it. Quotes and comments are looked past.
fn unclosed(text: &str, gave_up: Span) -> Option<(Span, char)> {
    let mut open: Vec<(usize, char)> = Vec::new();
    let mut quote = None;
    let mut before = ' ';
    let mut in_comment = false;
    for (at, c) in text[..gave_up.start as usize].char_indices() {
        match (c, quote) {
            ('\n', _) => in_comment = false,
            _ if in_comment => {}
            (_, Some(mark)) if c == mark => quote = None,
            (_, Some(_)) => {}
            ('"' | '\'', None) if " [{,".contains(before) => quote = Some(c),
            ('#', None) if before.is_whitespace() => in_comment = true,
            ('{', None) => open.push((at, '}')),
            ('[', None) => open.push((at, ']')),
            ('}' | ']', None) => drop(open.pop()),
            _ => {}
        }
        before = c;
    }
    let (at, closing) = open.pop()?;
    let later = text[at..gave_up.start as usize].contains('\n');
    let span = Span {
        start: at as u32,
        end: at as u32 + 1,
        ..gave_up
    };
    later.then_some((span, closing))
}

pub(super) fn stretch_too_long(span: Span) -> Diagnostic {
    let kib = STRETCH >> 10;
    Diagnostic::error("S003", span, format!("more than {kib} KiB in one piece"))
        .label("a list in brackets, a text or a comment this long is refused")
        .hint("write a long list as lines that begin with `- `")
}

pub(super) fn too_many(span: Span, what: &str) -> Diagnostic {
    Diagnostic::error(
        "S003",
        span,
        format!("too much for a light project: {what}"),
    )
    .label("reading stopped here")
    .hint("use `repeat`, or play one pattern from several others")
}

pub(super) fn too_deep(span: Span) -> Diagnostic {
    Diagnostic::error(
        "S005",
        span,
        format!("nested more than {DEPTH} levels deep"),
    )
    .label("this list or mapping is too deep")
    .hint("give the inner steps a pattern of their own")
}

pub(super) fn long_key(span: Span) -> Diagnostic {
    Diagnostic::error("S004", span, "a key must be a single word")
        .label("a list or mapping as a key")
        .hint("a value in braces is written `{key: value}`")
}

pub(super) fn alias_within_itself(span: Span) -> Diagnostic {
    Diagnostic::error("S006", span, "an alias within its own anchor")
        .label("this would contain itself")
        .hint("an alias may only repeat something that is complete before it")
}

pub(super) fn second_document(span: Span) -> Diagnostic {
    Diagnostic::error("S007", span, "a second YAML document begins here")
        .label("a file holds one document")
        .hint("remove the `---`, or move what follows into a file of its own")
}

/// A key that the mapping has already, in the line of that number.
pub(super) fn given_twice(key: &Spanned<Cow<str>>, line: usize) -> Diagnostic {
    Diagnostic::error(
        "S008",
        key.span,
        format!("`{}` is given twice", short(&key.value)),
    )
    .label(format!("it is in line {line} already"))
    .hint("keep one of the two")
}

pub(super) fn tag(span: Span) -> Diagnostic {
    Diagnostic::error("S009", span, "YAML tags have no meaning here")
        .label("tagged with a `!`")
        .hint("remove the tag; quote the text if it begins with `!`")
}
