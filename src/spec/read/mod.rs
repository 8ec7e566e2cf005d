//! From tree to raw types. A type that can be written in a project implements [`Read`] (how it is
//! read, and what to say if it cannot be) and [`JsonSchema`] (how an editor learns about it);
//! `record!` and `words!` give both from one declaration.

mod kinds;
mod number;
mod quantity;
mod record;
mod shapes;
mod text;
mod words;

use schemars::JsonSchema;

use super::yaml::{Node, Scalar, Value};
use crate::diagnostic::{Diagnostic, Report, Span, short};

pub(super) use number::whole_number;
pub(super) use quantity::{Quantity, leading_quantity, quantity};
pub(super) use record::{Fields, record};
pub(super) use shapes::{MaybeEmpty, Named, Needed, OneOrMany, Switchable};
use text::is_pin;
pub(super) use text::{ChipName, Name, PackageName, PinName, check_name, sound_name};
pub(super) use words::{Words, nearest, or_list, or_listed, word, words};

/// Something a person can write in a project.
pub(super) trait Read: Sized + JsonSchema {
    /// What may be written here, in words, with an example: "a time such as `250 ms`".
    fn expected() -> String;

    /// Reads it; `None` after the report says why not.
    fn read(node: &Node, report: &mut Report) -> Option<Self>;

    /// What stands for it, or what to say, where its key is there, may be left out, and has no value.
    fn nothing(_: &Node, _: &mut Report) -> Option<Self> {
        None
    }

    /// What stands for it when its key is missing: nothing, which is an error, unless optional.
    fn absent(key: &str, owner: Span, report: &mut Report) -> Option<Self> {
        report.push(
            Diagnostic::error("S012", owner, format!("`{key}` is missing"))
                .label(format!("needs `{key}`"))
                .hint(format!("add `{key}:` with {}", Self::expected())),
        );
        None
    }
}

/// The scalar of a node, or an error.
pub(super) fn scalar<'n, 's, T: Read>(
    node: &'n Node<'s>,
    report: &mut Report,
) -> Option<&'n Scalar<'s>> {
    match &node.value {
        Value::Scalar(scalar) if !node.is_null() => Some(scalar),
        _ => {
            wrong_shape::<T>(node, report);
            None
        }
    }
}

/// Says that something else was expected here.
pub(super) fn wrong_shape<T: Read>(node: &Node, report: &mut Report) {
    report.push(does_not_fit::<T>(node));
}

fn does_not_fit<T: Read>(node: &Node) -> Diagnostic {
    let message = match (&node.value, node.shape()) {
        (_, None) => "nothing is written here".into(),
        (Value::Scalar(scalar), _) => format!("`{}` does not fit here", short(&scalar.text)),
        (_, Some(shape)) => format!("{shape} does not fit here"),
    };
    let expected = T::expected();
    let hint = match &node.value {
        Value::Scalar(scalar) => in_braces(&scalar.text, &expected),
        Value::List(_) | Value::Map(_) => None,
    };
    Diagnostic::error("S010", node.span, message)
        .label(format!("expected {expected}"))
        .maybe_hint(hint)
}

/// What was probably meant by a value alone where a mapping is expected, by its example: `5 V` for `{volts: 5 V}`.
fn in_braces(text: &str, expected: &str) -> Option<String> {
    let (_, example) = expected.split_once("`{")?;
    let (key, value) = example.split_once(": ")?;
    let value = value.split([',', '}']).next()?;
    let value = value.split("..").next()?;
    let alike = kind(text).is_some_and(|kind_of_text| kind(value) == Some(kind_of_text));
    alike.then(|| format!("did you mean `{{{key}: {text}}}`?"))
}

/// What a value looks like: a pin, or a number with a unit that ends like this.
fn kind(text: &str) -> Option<String> {
    let text = text.trim();
    if is_pin(&text.to_uppercase()) {
        return Some("a pin".to_string());
    }
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let known = unit.len() < text.len() && unit.trim().chars().all(|c| c.is_alphabetic());
    let last = unit.chars().next_back()?;
    known.then(|| last.to_string())
}
