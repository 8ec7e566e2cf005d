//! YAML as a tree that knows its places. Written by strangers, so everything has a limit: reading
//! takes time and memory in proportion to a file of bounded size, or stops with one error.

mod events;
mod faults;
mod limits;
mod places;

use std::borrow::Cow;

use crate::diagnostic::{Span, Spanned};

pub(super) use events::parse;
pub(super) use limits::{FILE_BYTES, FILES};

/// A value and its place.
#[derive(Debug, Clone)]
pub(super) struct Node<'s> {
    pub span: Span,
    pub value: Value<'s>,
}

#[derive(Debug, Clone)]
pub(super) enum Value<'s> {
    Scalar(Scalar<'s>),
    List(Vec<Node<'s>>),
    Map(Vec<Entry<'s>>),
}

/// Text; quoted text is never a null.
#[derive(Debug, Clone)]
pub(super) struct Scalar<'s> {
    pub text: Cow<'s, str>,
    pub quoted: bool,
}

/// A key and its value.
#[derive(Debug, Clone)]
pub(super) struct Entry<'s> {
    pub key: Spanned<Cow<'s, str>>,
    pub value: Node<'s>,
}

impl Node<'_> {
    /// Whether nothing was written here.
    pub(super) fn is_null(&self) -> bool {
        match &self.value {
            Value::Scalar(scalar) => {
                !scalar.quoted && matches!(scalar.text.as_ref(), "" | "~" | "null" | "Null")
            }
            Value::List(_) | Value::Map(_) => false,
        }
    }

    /// What it is, in words; `None` for nothing.
    pub(super) fn shape(&self) -> Option<&'static str> {
        match &self.value {
            _ if self.is_null() => None,
            Value::Scalar(_) => Some("a single value"),
            Value::List(_) => Some("a list"),
            Value::Map(_) => Some("a mapping"),
        }
    }

    /// The value of a key, if this is a mapping that has it.
    pub(super) fn get(&self, key: &str) -> Option<&Self> {
        match &self.value {
            Value::Map(entries) => entries
                .iter()
                .find(|entry| entry.key.value == key)
                .map(|entry| &entry.value),
            Value::Scalar(_) | Value::List(_) => None,
        }
    }

    /// How many values it holds, itself and keys included.
    fn size(&self) -> usize {
        match &self.value {
            Value::Scalar(_) => 1,
            Value::List(items) => 1 + items.iter().map(Self::size).sum::<usize>(),
            Value::Map(entries) => {
                1 + entries
                    .iter()
                    .map(|entry| 1 + entry.value.size())
                    .sum::<usize>()
            }
        }
    }
}
