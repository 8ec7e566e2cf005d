//! A project's patterns and shows to a score: tracks become programs, channels become parts.

mod once;
mod shows;
mod voices;

use std::collections::{BTreeMap, HashMap};

use crate::diagnostic::{Diagnostic, Span};
use crate::score::draw::{self, Resolved};
use crate::score::grid::Grid;
use crate::score::lower::{Routine, Rules};
use crate::score::name::ProgramName;
use crate::score::program::{EqualSteps, Op, Program, Role, Score};
use crate::spec::{Pattern, Project};
use crate::units::{Level, Ticks};
use voices::{Voice, with_stagger};

/// How far a straight piece may be from a curved course, in levels. A line on whole levels is half
/// a level off, one that is cut because it is too long another 0.05: 1.25 in all. Of the default
/// 256 levels that is 0.49 L*, which with the 0.5 of the packed light makes the 1 L* that is allowed.
const TOLERANCE: f64 = 0.7;

/// How far into its program a channel can start: the table of starts has two bytes for it.
const MOST_AHEAD: Ticks = Ticks(0xFFFF);

/// Lowers all patterns that shows can reach.
///
/// # Errors
/// P0xx diagnostics, each at the step at fault.
pub fn score(project: &Project, grid: Grid) -> Result<Score, Vec<Diagnostic>> {
    let top = Level((project.brightness.levels.value - 1) as u8);
    let mut composing = Composing {
        rules: Rules {
            grid,
            top,
            tolerance: TOLERANCE,
        },
        channels: project.channels.len(),
        channel_names: project
            .channels
            .iter()
            .map(|c| c.name.value.clone())
            .collect(),
        programs: Vec::new(),
        known: HashMap::new(),
        fades: BTreeMap::new(),
        steady: None,
        errors: Vec::new(),
    };
    let patterns: Vec<Vec<Role>> = project
        .patterns
        .iter()
        .map(|pattern| composing.pattern(pattern))
        .collect();
    let (scenes, shows, once) = composing.shows(project, &patterns);
    if !composing.errors.is_empty() {
        return Err(composing.errors);
    }
    let cautions = composing.idle_fades();
    Ok(Score {
        top,
        programs: composing.programs,
        steady: composing.steady,
        scenes,
        shows,
        once,
        fractions: grid.fractions(),
        cautions,
    })
}

struct Composing {
    rules: Rules,
    channels: usize,
    channel_names: Vec<String>,
    programs: Vec<Program>,
    /// Programs by what they do.
    known: HashMap<Vec<Op>, usize>,
    /// Each fade, and whether it moves the light anywhere.
    fades: BTreeMap<Span, bool>,
    /// Steady levels that the player works out.
    steady: Option<EqualSteps>,
    errors: Vec<Diagnostic>,
}

impl Composing {
    fn pattern(&mut self, pattern: &Pattern) -> Vec<Role> {
        let tracks = pattern.tracks.iter().flat_map(draw::resolve);
        let mut voices = Vec::new();
        let mut stream = 0;
        for Resolved { track, plays } in tracks {
            let track = with_stagger(&track, self.rules.grid);
            self.voices(&track, &plays, &mut stream, &mut voices);
        }
        voices.sort_by_key(|voice| voice.channel);
        let mut lowered: Vec<(Routine, usize, Level)> = Vec::new();
        let mut parts = Vec::new();
        for id in 0..self.channels {
            let Some(voice) = voices
                .iter()
                .find(|voice| usize::from(voice.channel.0) == id)
            else {
                parts.push(self.dark(stream));
                continue;
            };
            let known = lowered.iter().find(|(course, ..)| *course == voice.course);
            let (program, initial) = match known {
                Some((_, program, initial)) => (*program, *initial),
                None => {
                    let name = self.name(pattern, id, lowered.is_empty());
                    let Some((program, initial)) = self.program(name, &voice.course) else {
                        continue;
                    };
                    lowered.push((voice.course.clone(), program, initial));
                    (program, initial)
                }
            };
            let (ahead, remainder) = self.rules.grid.rounded(voice.ahead);
            if ahead > MOST_AHEAD {
                self.too_far_ahead(voice);
                continue;
            }
            parts.push(Role {
                program,
                ahead,
                remainder,
                initial,
                stream: voice.stream,
            });
        }
        parts
    }

    /// Cautions of fades to where the light is already, on every channel and in every round.
    fn idle_fades(&self) -> Vec<Diagnostic> {
        let idle = self.fades.iter().filter(|(_, moves)| !**moves);
        idle.map(|(span, _)| {
            Diagnostic::caution("P007", *span, "this fade does nothing")
                .label("the light is there already when it begins, in the first round too")
                .hint(
                    "a pattern begins with the light that its last step leaves; put `{set: 0 %}` \
                     first to begin in the dark, or write `hold` for a pause",
                )
        })
        .collect()
    }

    fn too_far_ahead(&mut self, voice: &Voice) {
        let error = Diagnostic::error(
            "P006",
            voice.span,
            "a channel starts too far into its steps",
        )
        .label(format!("more than {} ticks within one step", MOST_AHEAD.0))
        .hint(
            "duskloom cannot begin so far within a fade, a wave or a repetition: split it into shorter \
             steps, use a smaller `stagger` or `ahead`, or ask for a longer `tick:`",
        );
        if !self.errors.contains(&error) {
            self.errors.push(error);
        }
    }

    /// A program for the course, and the level it starts from: a new one or one that does the same.
    fn program(&mut self, name: ProgramName, course: &Routine) -> Option<(usize, Level)> {
        match self.rules.lower(course) {
            Ok(lowered) => {
                for (fade, moves) in lowered.fades {
                    *self.fades.entry(fade).or_default() |= moves;
                }
                let ops: Vec<Op> = lowered.lines.iter().map(|line| line.op.clone()).collect();
                let next = self.programs.len();
                let index = *self.known.entry(ops).or_insert(next);
                if index == next {
                    self.programs.push(Program {
                        name,
                        lines: lowered.lines,
                    });
                }
                Some((index, lowered.initial))
            }
            Err(errors) => {
                for error in errors {
                    if !self.errors.contains(&error) {
                        self.errors.push(error);
                    }
                }
                None
            }
        }
    }

    /// The first program of a pattern has its name; others add their channel's.
    fn name(&self, pattern: &Pattern, channel: usize, first: bool) -> ProgramName {
        ProgramName::Pattern {
            pattern: pattern.name.value.clone(),
            channel: (!first).then(|| self.channel_names[channel].clone()),
        }
    }
}
