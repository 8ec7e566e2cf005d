//! Patterns and their tracks.

use schemars::JsonSchema;

use super::{DEEDS, Step};
use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::Flashing;
use crate::spec::read::{OneOrMany, Read, record};
use crate::spec::yaml::{Node, Value};
use crate::units::Time;

/// A pattern: steps for all channels, or a track with settings, or several tracks side by side.
/// It starts again when it ends.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(untagged)]
pub(in crate::spec) enum Pattern {
    /// Steps that all channels play.
    Steps(Spanned<Vec<Spanned<Step>>>),
    /// Tracks side by side.
    Tracks(Tracks),
    /// One track with settings.
    Track(Box<Track>),
}

/// Keys by which people say that a pattern plays once, and what follows.
const AFTER: &[&str] = &[
    "then",
    "next",
    "once",
    "loop",
    "follow",
    "followed_by",
    "times",
];

fn no_successor(key: &str, span: Span) -> Diagnostic {
    Diagnostic::error("S011", span, format!("there is no key `{key}` here"))
        .label("duskloom cannot go on to another pattern when one has ended")
        .hint(
            "within a pattern it can: put first what is to be played once, and last \
             `{repeat: forever, steps: […]}` for what follows, or `{hold: forever}` to stay so",
        )
}

impl Read for Pattern {
    fn expected() -> String {
        "a list of steps, or a mapping with `steps` or `tracks`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::List(_) => Read::read(node, report).map(Self::Steps),
            Value::Map(_) if node.get("tracks").is_some() => {
                Read::read(node, report).map(Self::Tracks)
            }
            Value::Map(_) if DEEDS.iter().any(|deed| node.get(deed).is_some()) => {
                report.push(
                    Diagnostic::error("S010", node.span, "a step does not fit here")
                        .label(format!("expected {}", Self::expected()))
                        .hint("begin the step's line with `- `, or put it in brackets: `[{…}]`"),
                );
                None
            }
            Value::Map(entries) => {
                if let Some(entry) = entries
                    .iter()
                    .find(|entry| AFTER.contains(&entry.key.value.as_ref()))
                {
                    report.push(no_successor(&entry.key.value, entry.key.span));
                    return None;
                }
                Read::read(node, report).map(|track| Self::Track(Box::new(track)))
            }
            Value::Scalar(_) => {
                crate::spec::read::wrong_shape::<Self>(node, report);
                None
            }
        }
    }
}

record! {
    /// Tracks that run side by side; no channel is in two of them.
    Tracks: "tracks such as `{tracks: [{channels: shore, steps: […]}]}`" {
        /// The tracks. Their loops may differ in length.
        tracks: Vec<Track>,
        /// Whether this pattern is built if it may flash more than three times in a second.
        /// Default: as the project's `flashing` says.
        flashing: Option<Spanned<Flashing>>,
    }
}

record! {
    /// A sequence of steps that drives some channels, and starts again when it ends.
    Track: "a track such as `{channels: quay, steps: […]}`" {
        /// Channels and groups, in stagger order. Default: all channels.
        channels: Option<OneOrMany<Spanned<String>>>,
        /// Each channel runs this much behind the one before it. Default: none.
        stagger: Option<Spanned<Time>>,
        /// Every channel plays the steps by itself, with draws of its own. Default: false.
        each: Option<Spanned<bool>>,
        /// How far into the steps the first channel starts. Default: at their start.
        ahead: Option<Spanned<Time>>,
        /// Make the random draws when compiling, not on the chip.
        draw: Option<Spanned<Draw>>,
        /// The steps.
        steps: Option<Spanned<Vec<Spanned<Step>>>>,
        /// Instead of steps: the pattern, of one track, whose steps to play. Its settings hold
        /// where this track gives none.
        play: Option<Spanned<String>>,
        /// Of a pattern with one track: whether it is built if it may flash more than three times
        /// in a second. Default: as the project's `flashing` says, whatever a played pattern does.
        flashing: Option<Spanned<Flashing>>,
    }
}

record! {
    /// Random draws made when compiling: the steps are played `rounds` times, and that is the loop.
    Draw: "compile-time draws such as `{seed: 7, rounds: 8}`" {
        /// Any whole number; the same seed gives the same draws. Default: 1.
        seed: Option<Spanned<u64>>,
        /// How many times the steps are played. Default: 8.
        rounds: Option<Spanned<u32>>,
    }
}
