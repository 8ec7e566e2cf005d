//! Lays a report out for a person: `file:line:column`, the text with the place marked, what was
//! expected there, and a hint.

use std::ops::Range;

use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::escape::{is_shown, line, shown};

use super::{Diagnostic, Report, Severity, Source, Sources, Span};

/// Characters kept on either side of the marked place in a long line.
const CONTEXT: usize = 60;
/// The longest mark, in characters.
const MARK: usize = 60;
/// Columns of a screen, without line numbers.
const COLUMNS: usize = 94;
/// The least columns of a label, however far to the right it stands.
const LABEL: usize = 40;
/// Columns of a hint, next to what leads to it.
const HINT: usize = 86;

/// The report as text, ready for a terminal; `colour` adds escape sequences.
pub fn render(report: &Report, colour: bool) -> String {
    let renderer = if colour {
        Renderer::styled()
    } else {
        Renderer::plain()
    }
    .term_width(200);
    let mut text = String::new();
    for diagnostic in &report.diagnostics {
        text += &one(diagnostic, &report.sources, &renderer);
        text += "\n\n";
    }
    if report.unlisted > 0 {
        let more = format!("{} more like these are not shown", report.unlisted);
        text += &renderer.render(&[Group::with_title(Level::NOTE.secondary_title(more))]);
        text += "\n\n";
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}

fn one(diagnostic: &Diagnostic, sources: &Sources, renderer: &Renderer) -> String {
    let level = match diagnostic.severity {
        Severity::Error => Level::ERROR,
        Severity::Caution => Level::WARNING.with_name("caution"),
    };
    let title = level
        .primary_title(shown(&diagnostic.message))
        .id(diagnostic.code);
    let mut group = Group::with_title(title);
    if let Some(span) = diagnostic.span {
        let source = sources.get(span.file);
        let place = sources.position(span);
        let excerpt = Excerpt::of(source, span);
        let lead = excerpt.text[..excerpt.mark.end].chars().count() + 1;
        let mut mark = AnnotationKind::Primary.span(excerpt.mark);
        if !diagnostic.label.is_empty() {
            let label = wrapped(
                &shown(&diagnostic.label),
                LABEL.max(COLUMNS.saturating_sub(lead)),
            );
            // The renderer leaves it to us to put further lines below the first.
            let margin = " ".repeat(place.line.to_string().len());
            let below = format!("\n{margin} | {:lead$}", "");
            mark = mark.label(label.replace('\n', &below));
        }
        let path = line(&source.path.display().to_string()).into_owned();
        let snippet = Snippet::source(excerpt.text)
            .line_start(place.line)
            .annotation(mark);
        // The renderer counts the column in the excerpt, which is wrong where its start is cut.
        group = if excerpt.starts_late {
            let origin = Origin::path(path)
                .line(place.line)
                .char_column(place.column);
            group.element(origin).element(snippet)
        } else {
            group.element(snippet.path(path))
        };
    }
    if let Some(hint) = &diagnostic.hint {
        let hint = wrapped(&shown(hint), HINT);
        group = group.element(Level::HELP.with_name("hint").message(hint));
    }
    // Between a place and an excerpt that does not repeat it, the renderer leaves a mark of its own.
    let lines = renderer.render(&[group]);
    lines
        .lines()
        .filter(|line| line.trim() != ":::")
        .collect::<Vec<_>>()
        .join("\n")
}

/// In lines of so many columns, broken between words only: names have hyphens.
fn wrapped(text: &str, columns: usize) -> String {
    let options = textwrap::Options::new(columns)
        .word_splitter(textwrap::WordSplitter::NoHyphenation)
        .word_separator(textwrap::WordSeparator::AsciiSpace);
    textwrap::fill(text, options)
}

/// The line a span starts in, cut to what a terminal shows, and the mark within it.
struct Excerpt {
    text: String,
    mark: Range<usize>,
    starts_late: bool,
}

impl Excerpt {
    fn of(source: &Source, span: Span) -> Self {
        let text = source.text.as_str();
        let start = span.start as usize;
        let line_start = text[..start].rfind('\n').map_or(0, |newline| newline + 1);
        let line_end = text[start..]
            .find('\n')
            .map_or(text.len(), |newline| start + newline);
        let marked = text[start..line_end.min(span.end as usize).max(start)].trim_end();
        let marked_end = start + prefix(marked, MARK).len();

        let before = suffix(&text[line_start..start], CONTEXT);
        let after = prefix(text[marked_end..line_end].trim_end(), CONTEXT);
        let cut_before = before.len() < start - line_start;
        let cut_after = marked_end + after.len() < text[..line_end].trim_end().len();

        let (before, marked, after) =
            (drawn(before), drawn(&text[start..marked_end]), drawn(after));
        let lead = format!("{}{before}", if cut_before { "…" } else { "" });
        let mark = lead.len()..lead.len() + marked.len();
        let tail = if cut_after { "…" } else { "" };
        let text = format!("{lead}{marked}{after}{tail}");
        Self {
            text,
            mark,
            starts_late: cut_before,
        }
    }
}

/// Text with a mark for each character that would not show as itself. The renderer draws those of
/// ASCII.
fn drawn(text: &str) -> String {
    let draw = |c: char| match c {
        c if c.is_ascii() || is_shown(c) => c,
        _ => char::REPLACEMENT_CHARACTER,
    };
    text.chars().map(draw).collect()
}

/// The first `count` characters.
fn prefix(text: &str, count: usize) -> &str {
    text.char_indices()
        .nth(count)
        .map_or(text, |(end, _)| &text[..end])
}

/// The last `count` characters.
fn suffix(text: &str, count: usize) -> &str {
    if count == 0 {
        return "";
    }
    text.char_indices()
        .rev()
        .nth(count - 1)
        .map_or(text, |(start, _)| &text[start..])
}
