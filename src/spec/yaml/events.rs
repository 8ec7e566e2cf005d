//! From the parser's events to the tree, within the limits.

use std::borrow::Cow;
use std::cell::Cell;
use std::collections::HashMap;

use saphyr_parser::{BufferedInput, Event, Parser, ScalarStyle, ScanError};

use super::faults::{self, too_deep, too_many};
use super::limits::{DEPTH, ITEMS, KEYS, STRETCH, VALUES};
use super::places::Places;
use super::{Entry, Node, Scalar, Value};
use crate::diagnostic::{Diagnostic, FileId, Span, Spanned};

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
            _ if too_long => {
                let place = parser_place(&next);
                return Err(faults::stretch_too_long(tree.span(place, place + 1)));
            }
            Ok((Event::StreamEnd, _)) => break,
            Ok((event, span)) => {
                let span = tree.span(span.start.index(), span.end.index());
                tree.event(event, span)?;
            }
            Err(error) => {
                let at = error.marker().index();
                return Err(faults::syntax(error.info(), text, tree.span(at, at + 1)));
            }
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
            return Err(faults::second_document(span));
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
                    let before = &self.text[..seen[&key.value].start as usize];
                    let line = before.matches('\n').count() + 1;
                    (self.faults)(faults::given_twice(&key, line));
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
            return Err(faults::alias_within_itself(span));
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
}

fn no_tag(tagged: bool, span: Span) -> Result<(), Diagnostic> {
    if tagged {
        Err(faults::tag(span))
    } else {
        Ok(())
    }
}

fn as_key(node: Node<'_>) -> Result<Spanned<Cow<'_, str>>, Diagnostic> {
    match node.value {
        Value::Scalar(scalar) => Ok(Spanned::new(scalar.text, node.span)),
        Value::List(_) | Value::Map(_) => Err(faults::long_key(node.span)),
    }
}
