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
    /// What is played once, in the order of [`Project::played_once`](crate::spec::Project::played_once).
    pub once: Vec<OnceRange>,
    /// The last scenes, if they are steady levels that the player works out.
    pub steady: Option<EqualSteps>,
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
    /// One per channel, in channel order. None for a steady level that the player works out.
    pub parts: Vec<Role>,
}

/// A scene that is played once, and for how long.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct OnceRange {
    pub scene: u8,
    pub ticks: Ticks,
}

/// Steady levels at equal steps: no programs play them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct EqualSteps {
    /// The first of these scenes; they are the last that there are.
    pub first: u8,
    /// From one to the next, in 1/256 of a level.
    pub step: u16,
}

impl EqualSteps {
    /// From dark to the top in so many steps, up to 255.
    pub fn new(first: usize, top: Level, count: u8) -> Self {
        let step = f64::from(top.0) * 256.0 / f64::from(count);
        Self {
            first: first as u8,
            step: step.round() as u16,
        }
    }

    /// The level after so many steps, rounded to the nearest.
    pub fn level(self, steps: u8) -> Level {
        let exact = 0x80 + u32::from(self.step) * u32::from(steps);
        Level((exact >> 8) as u8)
    }

    /// The level of a scene, if it is one of these.
    pub fn of(self, scene: usize) -> Option<Level> {
        let steps = scene.checked_sub(self.first.into())? as u8 + 1;
        Some(self.level(steps))
    }
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
    /// The ticks of its longest line, or the steps of it where it is a slow one.
    pub fn longest_line(&self) -> Ticks {
        let ticks = self.lines.iter().map(|line| match line.op {
            // A fraction may come to a tick more.
            Op::Fade { length, .. } | Op::Jump { length, .. } | Op::Wait { length } => {
                Ticks(length.ticks.0 + u32::from(length.fraction > 0))
            }
            Op::Random { ticks, .. } | Op::Keep { ticks } => ticks.highest(),
            _ => Ticks(0),
        });
        ticks.max().unwrap_or_default()
    }

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_steps_are_the_nearest_levels_and_end_at_the_top() {
        for top in [7, 63, 127, 200, 255] {
            for count in 1..=32_u8 {
                let steps = EqualSteps::new(9, Level(top), count);
                assert_eq!(steps.of(8), None);
                assert_eq!(steps.of(8 + usize::from(count)), Some(Level(top)));
                for n in 1..=count {
                    let wanted = f64::from(top) * f64::from(n) / f64::from(count);
                    let off = f64::from(steps.level(n).0) - wanted;
                    // Half a level, and what rounding the step comes to.
                    let most = 0.5 + f64::from(n) / 512.0;
                    assert!(off.abs() <= most, "{n} of {count} up to {top}: {off}");
                }
            }
        }
    }
}
