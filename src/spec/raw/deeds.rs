//! What a step does: the one key that says so, and what people write instead.

use super::Step;
use crate::diagnostic::{Diagnostic, Report, Span, short};
use crate::spec::read::{Read, nearest, or_list, wrong_shape};
use crate::spec::yaml::{Entry, Node, Value};

/// The keys that say what a step does.
pub(super) const DEEDS: &[&str] = &[
    "to", "set", "hold", "repeat", "pick", "branch", "wave", "rhythm",
];

/// Other words for what a step does, and how it is written.
const MEANT: &[(&[&str], &str)] = &[
    (
        &["fade", "dim", "ramp", "level"],
        "a fade is written `{to: 100 %, over: 2 s}`",
    ),
    (
        &["over", "ease"],
        "it belongs to a fade, on one line with it: `{to: 100 %, over: 2 s}`",
    ),
    (
        &["wait", "pause", "sleep", "delay", "stay"],
        "a pause is written `{hold: 500 ms}`",
    ),
    (
        &["on"],
        "to be lit for a while is written `{set: 100 %, hold: 500 ms}`",
    ),
    (
        &["off"],
        "to be dark for a while is written `{set: 0 %, hold: 500 ms}`",
    ),
    (
        &["blink", "flash", "pulse"],
        "flashes are written `{rhythm: [500 ms, 1 s]}`: on, off",
    ),
    (
        &["random", "choose", "choice"],
        "chance is `pick`, `branch`, or a range: `{hold: 1 s .. 4 s}`",
    ),
    (
        &["loop", "times", "steps"],
        "a repetition is written `{repeat: 3, steps: […]}`",
    ),
    (
        &["then", "next", "once", "goto"],
        "steps are played in their order, and again from the first; what stands before a last \
         `{repeat: forever, steps: […]}` or `{hold: forever}` is played once",
    ),
    (
        &["play", "pattern"],
        "a track plays a pattern, in place of steps: `{channels: all, play: …}`",
    ),
    (
        &["shape", "period", "cycles"],
        "a wave is written `{wave: sine, period: 4 s}`",
    ),
];

impl Read for Step {
    fn expected() -> String {
        "a step such as `{to: 100 %, over: 2 s}` or `{hold: 500 ms}`".into()
    }

    /// Never `None`: a step that cannot be read still takes its place.
    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let read = match deed(node, report) {
            Some("to") => Read::read(node, report).map(Self::To),
            Some("set") => Read::read(node, report).map(Self::Set),
            Some("hold") => Read::read(node, report).map(Self::Hold),
            Some("repeat") => Read::read(node, report).map(Self::Repeat),
            Some("pick") => Read::read(node, report).map(Self::Pick),
            Some("branch") => Read::read(node, report).map(Self::Branch),
            Some("wave") => Read::read(node, report).map(|wave| Self::Wave(Box::new(wave))),
            Some("rhythm") => Read::read(node, report).map(Self::Rhythm),
            Some(_) | None => None,
        };
        Some(read.unwrap_or(Self::Broken))
    }
}

/// What a step does; an error unless it does exactly one thing.
fn deed(node: &Node, report: &mut Report) -> Option<&'static str> {
    let Value::Map(entries) = &node.value else {
        wrong_shape::<Step>(node, report);
        return None;
    };
    let named = entries
        .iter()
        .filter_map(|entry| DEEDS.iter().find(|deed| **deed == entry.key.value).copied());
    let named: Vec<&str> = named.collect();
    match named.as_slice() {
        [] => {
            let (span, hint) = meant(node, entries);
            report.push(
                Diagnostic::error("S013", span, "this step does not say what to do")
                    .label(format!("expected {}", or_list(DEEDS.iter().copied())))
                    .hint(hint),
            );
            None
        }
        [one] => Some(one),
        ["set", "hold"] | ["hold", "set"] => Some("set"),
        [first, second, ..] => {
            let message = format!("`{first}` and `{second}` are two steps");
            report.push(
                Diagnostic::error("S013", node.span, message)
                    .label("a step does one thing")
                    .hint(if named.contains(&"wave") && named.contains(&"to") {
                        "a wave goes between `low` and `high`: `{wave: sine, period: 4 s, high: 80 %}`"
                    } else {
                        "give each a line of its own that begins with `- `"
                    }),
            );
            None
        }
    }
}

/// What a step without a deed was probably meant to be, and the place that tells.
fn meant(node: &Node, entries: &[Entry]) -> (Span, String) {
    let misspelt = entries.iter().find_map(|entry| {
        let deed = nearest(&entry.key.value, DEEDS.iter().copied())?;
        Some((entry.key.span, format!("did you mean `{deed}`?")))
    });
    let without_colon = || {
        entries.iter().find_map(|entry| {
            let (first, rest) = entry.key.value.split_once(' ')?;
            let deed = DEEDS.iter().find(|deed| **deed == first)?;
            let hint = format!("a colon is missing: `{deed}: {}`", short(rest.trim()));
            Some((entry.key.span, hint))
        })
    };
    let of_another = || {
        entries.iter().find_map(|entry| {
            let key = entry.key.value.to_lowercase();
            let mut known = MEANT.iter();
            let (_, hint) = known.find(|(words, _)| words.contains(&key.as_str()))?;
            Some((entry.key.span, (*hint).to_string()))
        })
    };
    // Of all keys only one is none of a fade's, and has a level: a channel's name.
    let of_channel = || {
        let mut others = entries
            .iter()
            .filter(|entry| !["over", "ease"].contains(&entry.key.value.as_ref()));
        let (only, None) = (others.next()?, others.next()) else {
            return None;
        };
        let Value::Scalar(level) = &only.value.value else {
            return None;
        };
        let word = only.key.value.to_lowercase();
        if MEANT
            .iter()
            .any(|(words, _)| words.contains(&word.as_str()))
        {
            return None;
        }
        let is_level = level.text.trim_end().ends_with('%');
        let (name, level) = (short(&only.key.value), short(&level.text));
        let hint =
            format!("a fade of one channel is written `{{to: {{{name}: {level}}}, over: 2 s}}`");
        (is_level && entries.len() > 1).then_some((only.key.span, hint))
    };
    let unspaced = || {
        let found = entries.iter().find(|entry| entry.key.value.contains(':'));
        let hint = "a space belongs after each colon: `to: 100 %`";
        found.map(|_| (node.span, hint.to_string()))
    };
    misspelt
        .or_else(without_colon)
        .or_else(of_channel)
        .or_else(of_another)
        .or_else(unspaced)
        .unwrap_or_else(|| {
            let usual = "a fade is written `{to: 100 %, over: 2 s}`";
            (node.span, usual.to_string())
        })
}
