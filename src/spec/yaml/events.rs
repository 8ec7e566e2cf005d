//! From the parser's events to the tree, within the limits.

use std::borrow::Cow;
use std::cell::Cell;
use std::collections::HashMap;

use saphyr_parser::{BufferedInput, Event, Parser, ScalarStyle, ScanError};

use super::limits::{DEPTH, ITEMS, KEYS, STRETCH, VALUES};
use super::places::Places;
use super::{Entry, Node, Scalar, Value};
use crate::diagnostic::{Diagnostic, FileId, Span, Spanned, short};

/// The tree of a file's only document, `None` if it holds nothing. Duplicate keys go to `faults`
/// and reading goes on; any other fault ends it.
pub(in crate::spec) fn parse<'s>(
    file: FileId,
    text: &'s str,
    faults: &mut dyn FnMut(Diagnostic),
) -> Result<Option<Node<'s>>, Diagnostic> {
    let stretch = Stretch::default();
    let characters = text.chars().take_while(|_| stretch.goes_on());
    let mut parser = Parser::new(BufferedInput::new(characters));
    let mut tree = Tree::new(file, text, faults);
    while let Some(next) = parser.next_event() {
        let too_long = stretch.ended_early();
        stretch.restart();
        match next {
            _ if too_long => return Err(tree.stretch_too_long(parser_place(&next))),
            Ok((Event::StreamEnd, _)) => break,
            Ok((event, span)) => {
                let span = tree.span(span.start.index(), span.end.index());
                tree.event(event, span)?;
            }
            Err(error) => return Err(tree.syntax(&error)),
        }
    }
    Ok(tree.root)
}

fn parser_place(next: &Result<(Event, saphyr_parser::Span), ScanError>) -> usize {
    match next {
        Ok((_, span)) => span.start.index(),
        Err(error) => error.marker().index(),
    }
}

/// Counts the characters handed to the parser since it last told us something, and ends the text
/// when that is too many.
#[derive(Default)]
struct Stretch {
    characters: Cell<usize>,
}

impl Stretch {
    fn goes_on(&self) -> bool {
        self.characters.set(self.characters.get() + 1);
        self.characters.get() <= STRETCH
    }

    fn ended_early(&self) -> bool {
        self.characters.get() > STRETCH
    }

    fn restart(&self) {
        self.characters.set(0);
    }
}

/// A list or mapping whose end has not come yet.
struct Open<'s> {
    anchor: usize,
    start: Span,
    content: Content<'s>,
}

enum Content<'s> {
    List(Vec<Node<'s>>),
    Map {
        entries: Vec<Entry<'s>>,
        seen: HashMap<Cow<'s, str>, Span>,
        key: Option<Spanned<Cow<'s, str>>>,
    },
}

struct Tree<'s, 'f> {
    file: FileId,
    text: &'s str,
    places: Places<'s>,
    open: Vec<Open<'s>>,
    anchors: HashMap<usize, Node<'s>>,
    values: usize,
    documents: usize,
    root: Option<Node<'s>>,
    faults: &'f mut dyn FnMut(Diagnostic),
}

impl<'s, 'f> Tree<'s, 'f> {
    fn new(file: FileId, text: &'s str, faults: &'f mut dyn FnMut(Diagnostic)) -> Self {
        Self {
            file,
            text,
            places: Places::new(text),
            open: Vec::new(),
            anchors: HashMap::new(),
            values: 0,
            documents: 0,
            root: None,
            faults,
        }
    }

    fn span(&self, start: usize, end: usize) -> Span {
        let start = self.places.byte(start);
        Span {
            file: self.file,
            start,
            end: self.places.byte(end).max(start),
        }
    }

    fn event(&mut self, event: Event<'_>, span: Span) -> Result<(), Diagnostic> {
        match event {
            Event::DocumentStart(_) => self.document(span),
            Event::Scalar(text, style, anchor, tag) => {
                no_tag(tag.is_some(), span)?;
                let node = Node {
                    span,
                    value: Value::Scalar(self.scalar(text, style, span)),
                };
                self.close(node, anchor)
            }
            Event::SequenceStart(anchor, tag) => {
                no_tag(tag.is_some(), span)?;
                self.start(anchor, span, Content::List(Vec::new()))
            }
            Event::MappingStart(anchor, tag) => {
                no_tag(tag.is_some(), span)?;
                let (entries, seen) = (Vec::new(), HashMap::new());
                self.start(
                    anchor,
                    span,
                    Content::Map {
                        entries,
                        seen,
                        key: None,
                    },
                )
            }
            Event::SequenceEnd | Event::MappingEnd => self.end(span),
            Event::Alias(anchor) => self.alias(anchor, span),
            Event::Nothing | Event::StreamStart | Event::StreamEnd | Event::DocumentEnd => Ok(()),
        }
    }

    fn document(&mut self, span: Span) -> Result<(), Diagnostic> {
        self.documents += 1;
        if self.documents > 1 {
            return Err(
                Diagnostic::error("S007", span, "a second YAML document begins here")
                    .label("a file holds one document")
                    .hint("remove the `---`, or move what follows into a file of its own"),
            );
        }
        Ok(())
    }

    /// The text of a scalar, borrowed from the file where it stands there as it is.
    fn scalar(&self, text: Cow<'_, str>, style: ScalarStyle, span: Span) -> Scalar<'s> {
        let quoted = style != ScalarStyle::Plain;
        let written = &self.text[span.range()];
        let inner = written.get(1..written.len().max(2) - 1).unwrap_or_default();
        let text = [written, inner]
            .into_iter()
            .find(|borrowed| *borrowed == text)
            .map_or_else(|| Cow::Owned(text.into_owned()), Cow::Borrowed);
        Scalar { text, quoted }
    }

    fn start(
        &mut self,
        anchor: usize,
        start: Span,
        content: Content<'s>,
    ) -> Result<(), Diagnostic> {
        if self.open.len() == DEPTH {
            return Err(too_deep(start));
        }
        self.open.push(Open {
            anchor,
            start,
            content,
        });
        Ok(())
    }

    fn end(&mut self, span: Span) -> Result<(), Diagnostic> {
        let Some(open) = self.open.pop() else {
            return Ok(());
        };
        let span = Span {
            end: span.end.max(open.start.end),
            ..open.start
        };
        let value = match open.content {
            Content::List(mut items) => {
                items.shrink_to_fit();
                Value::List(items)
            }
            Content::Map { mut entries, .. } => {
                entries.shrink_to_fit();
                Value::Map(entries)
            }
        };
        self.close(Node { span, value }, open.anchor)
    }

    /// Puts a finished value where it belongs, and remembers it under its anchor.
    fn close(&mut self, node: Node<'s>, anchor: usize) -> Result<(), Diagnostic> {
        self.count(1, node.span)?;
        if anchor > 0 {
            self.count(node.size(), node.span)?;
            self.anchors.insert(anchor, node.clone());
        }
        let Some(open) = self.open.last_mut() else {
            self.root = Some(node);
            return Ok(());
        };
        match &mut open.content {
            Content::List(items) => {
                if items.len() == ITEMS {
                    return Err(too_many(
                        node.span,
                        &format!("a list of more than {ITEMS} items"),
                    ));
                }
                items.push(node);
            }
            Content::Map { entries, seen, key } => match key.take() {
                None => *key = Some(as_key(node)?),
                Some(key) if seen.contains_key(&key.value) => {
                    let message = format!("`{}` is given twice", short(&key.value));
                    let before = &self.text[..seen[&key.value].start as usize];
                    let line = before.matches('\n').count() + 1;
                    (self.faults)(
                        Diagnostic::error("S008", key.span, message)
                            .label(format!("it is in line {line} already"))
                            .hint("keep one of the two"),
                    );
                }
                Some(key) => {
                    if entries.len() == KEYS {
                        let what = format!("a mapping with more than {KEYS} keys");
                        return Err(too_many(key.span, &what));
                    }
                    seen.insert(key.value.clone(), key.span);
                    entries.push(Entry { key, value: node });
                }
            },
        }
        Ok(())
    }

    fn alias(&mut self, anchor: usize, span: Span) -> Result<(), Diagnostic> {
        let Some(node) = self.anchors.get(&anchor) else {
            return Err(
                Diagnostic::error("S006", span, "an alias within its own anchor")
                    .label("this would contain itself")
                    .hint("an alias may only repeat something that is complete before it"),
            );
        };
        let node = node.clone();
        self.count(node.size(), span)?;
        self.close(node, 0)
    }

    fn count(&mut self, values: usize, span: Span) -> Result<(), Diagnostic> {
        self.values += values;
        if self.values > VALUES {
            return Err(too_many(
                span,
                &format!("more than {VALUES} values, aliases written out"),
            ));
        }
        Ok(())
    }

    fn stretch_too_long(&self, place: usize) -> Diagnostic {
        let span = self.span(place, place + 1);
        let kib = STRETCH >> 10;
        Diagnostic::error("S003", span, format!("more than {kib} KiB in one piece"))
            .label("a list in brackets, a text or a comment this long is refused")
            .hint("write a long list as lines that begin with `- `")
    }

    fn syntax(&self, error: &ScanError) -> Diagnostic {
        let at = error.marker().index();
        let span = self.span(at, at + 1);
        let line_start = self.text[..span.start as usize]
            .rfind('\n')
            .map_or(0, |at| at + 1);
        let line = self.text[line_start..].lines().next().unwrap_or_default();
        let indent = &line[..line.len() - line.trim_start().len()];
        let info = error.info();
        if info.contains("recursion limit") {
            return too_deep(span);
        }
        if info.contains("anchor") {
            return Diagnostic::error("S006", span, "an alias without an anchor")
                .label("nothing before this has that anchor")
                .hint("mark the first place with `&name`, and repeat it with `*name`");
        }
        let hint = if indent.contains('\t') || self.text[span.range()].contains('\t') {
            "YAML is indented with spaces; replace the tab"
        } else if line.contains(": ") && line.matches(": ").count() > 1 && !line.contains('{') {
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
}

fn no_tag(tagged: bool, span: Span) -> Result<(), Diagnostic> {
    if tagged {
        return Err(
            Diagnostic::error("S009", span, "YAML tags have no meaning here")
                .label("tagged with a `!`")
                .hint("remove the tag; quote the text if it begins with `!`"),
        );
    }
    Ok(())
}

fn as_key(node: Node<'_>) -> Result<Spanned<Cow<'_, str>>, Diagnostic> {
    match node.value {
        Value::Scalar(scalar) => Ok(Spanned::new(scalar.text, node.span)),
        Value::List(_) | Value::Map(_) => {
            Err(
                Diagnostic::error("S004", node.span, "a key must be a single word")
                    .label("a list or mapping as a key")
                    .hint("a value in braces is written `{key: value}`"),
            )
        }
    }
}

fn too_deep(span: Span) -> Diagnostic {
    Diagnostic::error(
        "S005",
        span,
        format!("nested more than {DEPTH} levels deep"),
    )
    .label("this list or mapping is too deep")
    .hint("give the inner steps a pattern of their own")
}

fn too_many(span: Span, what: &str) -> Diagnostic {
    Diagnostic::error(
        "S003",
        span,
        format!("too much for a light project: {what}"),
    )
    .label("reading stopped here")
    .hint("use `repeat`, or play one pattern from several others")
}
