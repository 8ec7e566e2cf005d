//! The steps of a track.

use schemars::JsonSchema;

use super::{Beat, Count, Pause, Rounds};
use crate::diagnostic::{Report, Spanned};
use crate::spec::project::{Drawn, Ease, Shape};
use crate::spec::read::{Named, OneOrMany, Read, record, words, wrong_shape};
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
