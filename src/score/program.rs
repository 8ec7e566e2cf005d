//! What lowering produces: programs for the player, and who plays them when.

use std::ops::Range;

use serde::Serialize;

use super::name::ProgramName;
use crate::diagnostic::{Diagnostic, Span};
use crate::spec::PatternId;
use crate::units::{Level, Ticks};

/// Everything the player needs to know, before it is packed into bytes.
#[derive(Debug, Clone, PartialEq)]
pub struct Score {
    /// The highest level of the scale: the ceiling.
    pub top: Level,
    /// Each is stored once, however many channels play it.
    pub programs: Vec<Program>,
    /// What can be started: patterns and steady levels, in the order of the shows that use them.
    pub scenes: Vec<Scene>,
    /// In order of the button's holds.
    pub shows: Vec<ShowRange>,
    /// Whether durations need fractions of a tick.
    pub fractions: bool,
    /// What the person should know although it can be played.
    pub cautions: Vec<Diagnostic>,
}

/// A sequence of operations. Labels are indices into it.
#[derive(Debug, Clone, PartialEq)]
pub struct Program {
    pub name: ProgramName,
    pub lines: Vec<Line>,
}

/// One operation and what it means to a person.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub op: Op,
    /// The level at which it starts, where that is the same each time.
    pub from: Option<Level>,
    pub note: String,
    /// The step it comes from.
    pub span: Span,
}

/// Index of a line within its program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Label(pub usize);

/// An operation of the player. Each channel has a player of its own.
///
/// `Random` and `Keep` make exactly two draws each and `Branch` one, so that channels which must
/// agree on a draw can replay the same sequence of draws, each in its own program.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum Op {
    /// Go to a level in a straight line; a hold when the level is already there.
    Fade {
        length: Length,
        to: Level,
    },
    /// Be at a level at once, and hold it; with no length, go on with the next line.
    Jump {
        length: Length,
        to: Level,
    },
    /// Draw a length, then a level; fade or jump there.
    Random {
        jump: bool,
        ticks: TickRange,
        level: LevelRange,
    },
    /// Draw a length, then once more for nothing; hold whatever level there is.
    Keep {
        ticks: TickRange,
    },
    /// Hold whatever level there is, without a draw.
    Wait {
        length: Length,
    },
    /// The next line goes on only once in `units` times [`SLOW_UNIT`] ticks, so that it can take hours.
    Slow {
        units: u8,
    },
    /// Count in `slot`; go back to `to` until it has been passed `count` times.
    Repeat {
        slot: u8,
        count: u8,
        to: Label,
    },
    /// Draw one of these and go there.
    Branch {
        to: Vec<Label>,
    },
    Goto {
        to: Label,
    },
}

/// Ticks of a unit of slowness: fine enough for fades of minutes, coarse enough for holds of a week.
pub const SLOW_UNIT: u16 = 32;

/// A length of time in ticks with a binary fraction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Length {
    pub ticks: Ticks,
    /// In 1/65536 of a tick; added up on the chip, so that boundaries are rounded, never lengths.
    pub fraction: u16,
}

/// From `low` to `low + span` ticks, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct TickRange {
    pub low: Ticks,
    pub span: Ticks,
}

impl TickRange {
    pub fn highest(self) -> Ticks {
        Ticks(self.low.0 + self.span.0)
    }
}

/// From `low` to `low + span`, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct LevelRange {
    pub low: Level,
    pub span: u8,
}

/// Something that can be started: for each channel what it plays.
#[derive(Debug, Clone, PartialEq)]
pub struct Scene {
    pub name: String,
    pub origin: Origin,
    /// One per channel, in channel order.
    pub parts: Vec<Role>,
}

/// Where a scene comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Index into the project's patterns.
    Pattern(PatternId),
    /// A fixed level of a steady show.
    Steady(Level),
}

impl Scene {
    /// The level at which it stays for ever. `None`: it plays a pattern.
    pub fn steady_level(&self) -> Option<Level> {
        match self.origin {
            Origin::Steady(level) => Some(level),
            Origin::Pattern(_) => None,
        }
    }
}

/// How one channel starts a scene.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Role {
    /// Index into [`Score::programs`].
    pub program: usize,
    /// How far into its program the channel starts, rounded to whole ticks.
    pub ahead: Ticks,
    /// What rounding `ahead` left over: ideal minus rounded, in 1/256 of a tick.
    pub remainder: i16,
    /// The level from which the first operation departs.
    pub initial: Level,
    /// Channels of a scene with the same stream draw the same numbers.
    pub stream: u8,
}

/// A show is a range of scenes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ShowRange {
    pub kind: ShowKind,
    /// Index of the first scene.
    pub first: u8,
    pub count: u8,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ShowKind {
    Roam,
    Steady,
    Solo,
}

impl ShowKind {
    /// As a project names it.
    pub fn text(self) -> &'static str {
        match self {
            Self::Roam => "roam",
            Self::Steady => "steady",
            Self::Solo => "solo",
        }
    }
}

impl ShowRange {
    /// Indices of its scenes.
    pub fn scenes(&self) -> Range<usize> {
        let first = usize::from(self.first);
        first..first + usize::from(self.count)
    }
}

impl Score {
    /// Whether a scene draws on the chip, so that no two of its rounds need be alike.
    pub fn draws(&self, scene: usize) -> bool {
        let parts = &self.scenes[scene].parts;
        parts.iter().any(|part| self.programs[part.program].draws())
    }

    /// The levels of each steady show, a scene a level.
    pub fn steady_levels(&self) -> impl Iterator<Item = Vec<Level>> {
        let steady = self
            .shows
            .iter()
            .filter(|show| show.kind == ShowKind::Steady);
        steady.map(|show| {
            let scenes = self.scenes[show.scenes()].iter();
            scenes.filter_map(Scene::steady_level).collect()
        })
    }

    /// Whether channels must be able to agree on draws: more streams than one channel each.
    pub fn has_shared_draws(&self) -> bool {
        self.scenes.iter().any(|scene| {
            let draws = |part: &&Role| self.programs[part.program].draws();
            let drawing: Vec<_> = scene
                .parts
                .iter()
                .filter(draws)
                .map(|part| part.stream)
                .collect();
            drawing
                .iter()
                .enumerate()
                .any(|(i, stream)| drawing[..i].contains(stream))
        })
    }
}

impl Program {
    /// Whether it uses the generator.
    pub fn draws(&self) -> bool {
        self.lines.iter().any(|line| {
            matches!(
                line.op,
                Op::Random { .. } | Op::Keep { .. } | Op::Branch { .. }
            )
        })
    }
}
