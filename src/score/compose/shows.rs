//! Shows: which scenes they have, and scenes at a steady level.

use super::Composing;
use crate::diagnostic::Span;
use crate::score::lower::RENEWED;
use crate::score::moves;
use crate::score::name::ProgramName;
use crate::score::program::{
    EqualSteps, Label, Line, OnceRange, Op, Origin, Program, Role, Scene, ShowKind, ShowRange,
};
use crate::spec::{PatternId, Project, Show};
use crate::units::{Level, Share, Ticks};

impl Composing {
    pub(super) fn shows(
        &mut self,
        project: &Project,
        patterns: &[Vec<Role>],
    ) -> (Vec<Scene>, Vec<ShowRange>, Vec<OnceRange>) {
        let mut scenes: Vec<Scene> = Vec::new();
        let mut shows = Vec::new();
        let worked_out = worked_out(project);
        for show in &project.shows {
            let (kind, wanted) = match &show.value {
                Show::Roam {
                    patterns: chosen, ..
                }
                | Show::Solo { patterns: chosen } => {
                    let scene = |&id: &PatternId| Scene {
                        name: project.pattern(id).name.value.clone(),
                        origin: Origin::Pattern(id),
                        parts: patterns[usize::from(id.0)].clone(),
                    };
                    let kind = match show.value {
                        Show::Roam { .. } => ShowKind::Roam,
                        _ => ShowKind::Solo,
                    };
                    (kind, chosen.iter().map(scene).collect::<Vec<_>>())
                }
                // They come last.
                Show::Steady { levels } if Some(*levels) == worked_out => {
                    (ShowKind::Steady, vec![])
                }
                Show::Steady { levels } => (
                    ShowKind::Steady,
                    (1..=*levels).map(|n| self.fixed(n, *levels)).collect(),
                ),
            };
            let first = find(&scenes, &wanted).unwrap_or_else(|| {
                scenes.extend_from_slice(&wanted);
                scenes.len() - wanted.len()
            });
            shows.push(ShowRange {
                kind,
                first: first as u8,
                count: wanted.len() as u8,
            });
        }
        let once = self.once(project, patterns, &mut scenes);
        if let Some(levels) = worked_out {
            let first = scenes.len();
            let steps = EqualSteps::new(first, self.rules.top, levels);
            self.steady = Some(steps);
            scenes.extend((1..=levels).map(|n| Scene {
                name: format!("steady {n} of {levels}"),
                origin: Origin::Steady(steps.level(n)),
                parts: Vec::new(),
            }));
            for show in shows.iter_mut().filter(|show| show.count == 0) {
                (show.first, show.count) = (first as u8, levels);
            }
        }
        (scenes, shows, once)
    }

    /// Level `n` of `count` equal steps up to the ceiling.
    fn fixed(&mut self, n: u8, count: u8) -> Scene {
        let share = Share(f64::from(n) / f64::from(count));
        let level = moves::nearest(share, self.rules.top);
        let shown = Share((share.0 * 1000.0).round() / 1000.0);
        let length = self.rules.grid.length(0.0, 1.0);
        let op = Op::Fade { length, to: level };
        let part = self.steady(
            ProgramName::Steady { n, count },
            op,
            &format!("steady at {shown}"),
            0,
        );
        Scene {
            name: format!("steady {n} of {count}"),
            origin: Origin::Steady(level),
            parts: vec![part; self.channels],
        }
    }

    pub(super) fn dark(&mut self, stream: u8) -> Role {
        let length = self.rules.grid.length(0.0, RENEWED);
        self.steady(
            ProgramName::Dark,
            Op::Fade {
                length,
                to: Level(0),
            },
            "dark",
            stream,
        )
    }

    /// A part that stays at one level.
    fn steady(&mut self, name: ProgramName, op: Op, note: &str, stream: u8) -> Role {
        let line = |op, note: &str| Line {
            op,
            from: Some(Level(0)),
            note: note.into(),
            span: Span::default(),
        };
        let lines = vec![
            line(op, note),
            line(Op::Goto { to: Label(0) }, "from the start"),
        ];
        let ops = lines.iter().map(|line| line.op.clone()).collect();
        let next = self.programs.len();
        let program = *self.known.entry(ops).or_insert(next);
        if program == next {
            self.programs.push(Program { name, lines });
        }
        Role {
            program,
            ahead: Ticks(0),
            remainder: 0,
            initial: Level(0),
            stream,
        }
    }
}

/// Below so many levels, programs for them are shorter than what works them out: some 30 bytes.
const FEW_LEVELS: u8 = 5;

/// The steady levels that the player works out, by how many they are: of one show or of alike ones.
fn worked_out(project: &Project) -> Option<u8> {
    let steady = project.shows.iter().filter_map(|show| match show.value {
        Show::Steady { levels } => Some(levels),
        _ => None,
    });
    let has_patterns = project
        .shows
        .iter()
        .any(|show| !matches!(show.value, Show::Steady { .. }));
    steady
        .max()
        .filter(|levels| has_patterns && *levels >= FEW_LEVELS)
}

/// Where the scenes already stand in a row, if they do.
fn find(scenes: &[Scene], wanted: &[Scene]) -> Option<usize> {
    (0..scenes.len()).find(|&at| scenes[at..].starts_with(wanted))
}
