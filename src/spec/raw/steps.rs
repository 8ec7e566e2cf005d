//! The steps of a track.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::diagnostic::{Diagnostic, Report, Spanned, short};
use crate::spec::project::{Drawn, Ease, Shape, Times};
use crate::spec::read::{
    Named, OneOrMany, Read, nearest, or_list, record, scalar, whole_number, words, wrong_shape,
};
use crate::spec::yaml::{Node, Value};
use crate::units::{Share, Time};

/// Steps in the order they are played.
pub(in crate::spec) type Steps = Vec<Spanned<Step>>;

/// One step of a pattern. The key that says what it does is one of `to`, `set`, `hold`, `repeat`,
/// `pick`, `branch`, `wave` and `rhythm`.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(untagged)]
pub(in crate::spec) enum Step {
    To(To),
    Set(Set),
    Hold(Hold),
    Repeat(Repeat),
    Pick(Pick),
    Branch(Branch),
    Wave(Box<Wave>),
    Rhythm(Rhythm),
    /// One that could not be read; the report says why.
    #[schemars(skip)]
    Broken,
}

record! {
    /// Fade to a level.
    To: "a fade such as `{to: 100 %, over: 2 s}`" {
        /// The level: one for all channels of the track, or a mapping from channels, groups and
        /// `rest` to levels. A range is drawn at random each time.
        to: Target,
        /// How long the fade takes, or a range.
        over: Drawn<Time>,
        /// The course of the fade. Default: linear.
        ease: Option<Ease>,
    }
}

record! {
    /// Jump to a level, and stay there for a while if `hold` says so.
    Set: "a jump such as `{set: 100 %, hold: 250 ms}`" {
        /// The level or levels, as for `to`.
        set: Target,
        /// How long to stay, a range, or `forever`. Default: no time; after the last jump of steps
        /// that are nothing but jumps, for ever.
        hold: Option<Pause>,
    }
}

record! {
    /// Stay as it is.
    Hold: "a pause such as `{hold: 500 ms}`" {
        /// How long, a range, or `forever` as the last step of a list.
        hold: Pause,
    }
}

record! {
    /// Play steps again and again.
    Repeat: "a repetition such as `{repeat: 3, steps: […]}`" {
        /// How many times; a range, such as `2 .. 5`, to draw from each time; or `forever` as the
        /// last step of a list.
        repeat: Spanned<Rounds>,
        /// What to repeat.
        steps: Steps,
    }
}

record! {
    /// Draw one of some channels; it alone plays the steps while the others wait.
    Pick: "a random channel such as `{pick: [quay, houses], steps: […]}`" {
        /// Channels and groups to draw from, or `all`.
        pick: Spanned<OneOrMany<Spanned<String>>>,
        /// What the drawn channel plays.
        steps: Steps,
    }
}

record! {
    /// Draw one of several lists of steps and play it.
    Branch: "random branches such as `{branch: [[…], […]]}`" {
        /// Two lists of steps or more, all equally likely.
        branch: Vec<Steps>,
    }
}

record! {
    /// A periodic wave.
    Wave: "a wave such as `{wave: sine, period: 6 s}`" {
        /// Its shape.
        wave: Shape,
        /// The time of one period.
        period: Spanned<Drawn<Time>>,
        /// The lowest level. Default: 0 %.
        low: Option<Share>,
        /// The highest level. Default: 100 %.
        high: Option<Share>,
        /// By which share of a period each channel runs behind the one before it. Default: 0 %.
        spread: Option<Share>,
        /// How many periods. Default: for ever, as the last step of a list.
        cycles: Option<Spanned<Count>>,
    }
}

record! {
    /// Flashes: on, off, on, off.
    Rhythm: "flashes such as `{rhythm: [150 ms, 2 s]}`" {
        /// The times, an on-time first, in pairs of on and off. They are fixed; for drawn ones write
        /// `set` with a drawn `hold`.
        rhythm: Spanned<Vec<Spanned<Beat>>>,
        /// The level while on. Default: 100 %.
        high: Option<Share>,
        /// The level while off. Default: 0 %.
        low: Option<Share>,
    }
}

/// One time of a rhythm.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Beat(pub Time);

impl Read for Beat {
    fn expected() -> String {
        Time::expected()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text.contains("..") => {
                let text = short(&scalar.text);
                let step = format!("{{set: 100 %, hold: {text}}}");
                report.push(
                    Diagnostic::error("S015", node.span, format!("`{text}` is a range"))
                        .label(format!("expected one value: {}", Self::expected()))
                        .hint(format!(
                            "a rhythm is fixed; a flash of drawn length is `{step}`"
                        )),
                );
                None
            }
            _ => Time::read(node, report).map(Self),
        }
    }
}

impl JsonSchema for Beat {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> Cow<'static, str> {
        Time::schema_name()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        generator.subschema_for::<Time>()
    }
}

words! {
    Ease, "an ease": {
        "linear" => Linear: "equal steps of lightness in equal times",
        "soft" => Soft: "slow at both ends",
        "soft-in" => SoftIn: "slow at the start",
        "soft-out" => SoftOut: "slow at the end",
    }
    Shape, "a wave's shape": {
        "sine" => Sine: "smooth, from low to high and back",
        "triangle" => Triangle: "straight up and straight down",
        "saw" => Saw: "straight up, then a drop",
        "square" => Square: "high for half the period, then low",
    }
}

/// Where a step goes: one level for all channels of the track, or levels by channel, group and
/// `rest`.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(untagged)]
pub(in crate::spec) enum Target {
    All(Spanned<Drawn<Share>>),
    ByName(Named<Spanned<Drawn<Share>>>),
}

impl Read for Target {
    fn expected() -> String {
        "a level such as `40 %`, a range such as `20 % .. 100 %`, or a mapping from channels to \
         levels"
            .into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Map(_) => Read::read(node, report).map(Self::ByName),
            Value::Scalar(_) if !node.is_null() => Read::read(node, report).map(Self::All),
            Value::Scalar(_) | Value::List(_) => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

/// How long to stay as it is.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum Pause {
    For(Drawn<Time>),
    Forever,
}

impl Read for Pause {
    fn expected() -> String {
        format!("{}, or `forever`", Drawn::<Time>::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text == "forever" => Some(Self::Forever),
            _ => Read::read(node, report).map(Self::For),
        }
    }
}

impl JsonSchema for Pause {
    fn schema_name() -> Cow<'static, str> {
        "Pause".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": Self::expected(),
            "anyOf": [generator.subschema_for::<Drawn<Time>>(), { "const": "forever" }],
        })
    }
}

/// A number of times, or `forever`.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Count(pub Times);

impl Read for Count {
    fn expected() -> String {
        "a whole number such as `3`, or `forever`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Scalar(scalar) if scalar.text == "forever" => Some(Self(Times::Forever)),
            _ => whole_number::<Self>(node, report).map(|count| Self(Times::Count(count))),
        }
    }
}

/// As [`Count`], or a range to draw from.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum Rounds {
    Fixed(Times),
    Between(u32, u32),
}

impl Read for Rounds {
    fn expected() -> String {
        "a whole number such as `3`, a range such as `2 .. 5`, or `forever`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Some((low, high)) = scalar::<Self>(node, report)?.text.split_once("..") else {
            return match &node.value {
                Value::Scalar(scalar) if scalar.text == "forever" => {
                    Some(Self::Fixed(Times::Forever))
                }
                _ => {
                    whole_number::<Self>(node, report).map(|count| Self::Fixed(Times::Count(count)))
                }
            };
        };
        let number = |text: &str| text.trim().parse().ok();
        match (number(low), number(high)) {
            (Some(low), Some(high)) if low > high => {
                report.push(
                    Diagnostic::error("S018", node.span, "a range that runs backwards")
                        .label("the lower end comes first")
                        .hint(format!("did you mean `{high} .. {low}`?")),
                );
                None
            }
            (Some(low), Some(high)) if low == high => Some(Self::Fixed(Times::Count(low))),
            (Some(low), Some(high)) => Some(Self::Between(low, high)),
            _ => {
                wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

impl JsonSchema for Rounds {
    fn schema_name() -> Cow<'static, str> {
        "Rounds".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": Self::expected(),
            "anyOf": [
                { "type": "integer", "minimum": 1 },
                { "type": "string", "pattern": r"^\d+ *\.\. *\d+$" },
                { "const": "forever" },
            ],
        })
    }
}

impl JsonSchema for Count {
    fn schema_name() -> Cow<'static, str> {
        "Count".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": Self::expected(),
            "anyOf": [{ "type": "integer", "minimum": 1 }, { "const": "forever" }],
        })
    }
}

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
    match named.collect::<Vec<_>>().as_slice() {
        [] => {
            let meant = entries.iter().find_map(|entry| {
                nearest(&entry.key.value, DEEDS.iter().copied()).map(|deed| (deed, entry.key.span))
            });
            let span = meant.map_or(node.span, |(_, span)| span);
            let other = entries.iter().find_map(|entry| {
                let key = entry.key.value.to_lowercase();
                let found = MEANT
                    .iter()
                    .find(|(words, _)| words.contains(&key.as_str()));
                found.map(|(_, hint)| (*hint, entry.key.span))
            });
            let span = match meant {
                Some(_) => span,
                None => other.map_or(span, |(_, span)| span),
            };
            let unspaced = entries.iter().find(|entry| entry.key.value.contains(':'));
            let hint = match (meant, other, unspaced) {
                (Some((deed, _)), ..) => format!("did you mean `{deed}`?"),
                (None, Some((hint, _)), _) => hint.to_string(),
                (None, None, Some(_)) => {
                    "a space belongs after each colon: `to: 100 %`".to_string()
                }
                (None, None, None) => "a fade is written `{to: 100 %, over: 2 s}`".to_string(),
            };
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
                    .hint("give each a line of its own that begins with `- `"),
            );
            None
        }
    }
}
