//! A project's patterns and shows to a score: tracks become programs, channels become parts.

use std::collections::HashMap;

use crate::diagnostic::{Diagnostic, Span};
use crate::score::draw::{self, Resolved};
use crate::score::grid::Grid;
use crate::score::lower::{Course, Rules};
use crate::score::moves::{self, Move, View, What};
use crate::score::program::{
    Label, Line, Op, Origin, Part, Program, Scene, Score, ShowKind, ShowRange,
};
use crate::spec::{ChannelId, Pattern, Project, Show, Step, Times, Track};
use crate::units::{Level, Share, Ticks, Time};

/// How far a straight piece may be from a curved course, in levels. A line on whole levels is half
/// a level off, one that is cut because it is too long another 0.05: 1.25 in all. Of the default
/// 256 levels that is 0.49 L*, which with the 0.5 of the packed light makes the 1 L* that is allowed.
const TOLERANCE: f64 = 0.7;

/// How far into its program a channel can start: the table of starts has two bytes for it.
const MOST_AHEAD: Ticks = Ticks(0xFFFF);

/// How often, in ticks, a channel that stays as it is looks at its program again.
const RENEWED: f64 = 100.0;

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
        errors: Vec::new(),
    };
    let patterns: Vec<Vec<Part>> = project
        .patterns
        .iter()
        .map(|pattern| composing.pattern(pattern))
        .collect();
    let (scenes, shows) = composing.shows(project, &patterns);
    if !composing.errors.is_empty() {
        return Err(composing.errors);
    }
    Ok(Score {
        top,
        programs: composing.programs,
        scenes,
        shows,
        fractions: grid.fractions(),
    })
}

struct Composing {
    rules: Rules,
    channels: usize,
    channel_names: Vec<String>,
    programs: Vec<Program>,
    /// Programs by what they do.
    known: HashMap<Vec<Op>, usize>,
    errors: Vec<Diagnostic>,
}

/// A channel's share of a track, before it has a program.
struct Voice {
    channel: ChannelId,
    course: Course,
    ahead: f64,
    stream: u8,
    /// The track's.
    span: Span,
}

impl Composing {
    fn pattern(&mut self, pattern: &Pattern) -> Vec<Part> {
        let tracks = pattern.tracks.iter().flat_map(draw::resolve);
        let mut voices = Vec::new();
        let mut stream = 0;
        for Resolved { track, plays } in tracks {
            let track = with_stagger(&track, self.rules.grid);
            self.voices(&track, &plays, &mut stream, &mut voices);
        }
        voices.sort_by_key(|voice| voice.channel);
        let mut lowered: Vec<(Course, usize, Level)> = Vec::new();
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
                    let Some((program, initial)) = self.program(&name, &voice.course) else {
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
            parts.push(Part {
                program,
                ahead,
                remainder,
                initial,
                stream: voice.stream,
            });
        }
        parts
    }

    /// What each channel that `plays` the track does. `stream` counts the streams of draws of the
    /// pattern.
    fn voices(&self, track: &Track, plays: &[ChannelId], stream: &mut u8, voices: &mut Vec<Voice>) {
        let shared = !track.each;
        let places = track.channels.iter().enumerate();
        for (place, channel) in places.filter(|(_, channel)| plays.contains(channel)) {
            let all = View {
                track,
                channel: *channel,
                top: self.rules.top,
            }
            .moves();
            let place = place as u64;
            // Rounded where it comes to, so that channels far down a chase are not farther off.
            let behind = Time(track.stagger.value.0 * place);
            let behind_ticks = self.rules.grid.ticks(behind);
            let ahead = self.rules.grid.ticks(track.ahead.value);
            let (course, ahead) = match (endless(&all), moves::duration(&all)) {
                // It comes round again: being behind is being ahead of the next round.
                (None, Some(period)) if period > 0 => {
                    let period = self.rules.grid.ticks(Time(period));
                    let ahead = (ahead - behind_ticks).rem_euclid(period);
                    (
                        Course {
                            intro: Vec::new(),
                            cycle: all,
                            steady: true,
                        },
                        ahead,
                    )
                }
                (found, _) => {
                    let mut intro = Vec::new();
                    if behind.0 > 0 {
                        intro.push(Move {
                            what: What::Hold(behind),
                            span: track.stagger.span,
                        });
                    }
                    let cycle = match found {
                        Some(at) => {
                            intro.extend_from_slice(&all[..at]);
                            all[at..].to_vec()
                        }
                        None => all,
                    };
                    let course = Course {
                        intro,
                        cycle,
                        steady: false,
                    };
                    (course, ahead)
                }
            };
            voices.push(Voice {
                channel: *channel,
                course,
                ahead,
                stream: *stream,
                span: track.span,
            });
            if !shared {
                *stream += 1;
            }
        }
        if shared {
            *stream += 1;
        }
    }

    fn too_far_ahead(&mut self, voice: &Voice) {
        let error = Diagnostic::error(
            "P006",
            voice.span,
            "a channel starts too far into its steps",
        )
        .label(format!("more than {} ticks", MOST_AHEAD.0))
        .hint("use a smaller `stagger` or `ahead`, shorter steps, or ask for a longer `tick:`");
        if !self.errors.contains(&error) {
            self.errors.push(error);
        }
    }

    /// A program for the course, and the level it starts from: a new one or one that does the same.
    fn program(&mut self, name: &str, course: &Course) -> Option<(usize, Level)> {
        match self.rules.lower(course) {
            Ok(lowered) => {
                let ops: Vec<Op> = lowered.lines.iter().map(|line| line.op.clone()).collect();
                let next = self.programs.len();
                let index = *self.known.entry(ops).or_insert(next);
                if index == next {
                    self.programs.push(Program {
                        name: name.into(),
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
    fn name(&self, pattern: &Pattern, channel: usize, first: bool) -> String {
        let name = pattern.name.value.replace('-', "_");
        if first {
            name
        } else {
            format!("{name}_{}", self.channel_names[channel].replace('-', "_"))
        }
    }

    fn dark(&mut self, stream: u8) -> Part {
        let length = self.rules.grid.length(0.0, RENEWED);
        self.steady(
            "dark",
            Op::Fade {
                length,
                to: Level(0),
            },
            "dark",
            stream,
        )
    }

    /// A part that stays at one level.
    fn steady(&mut self, name: &str, op: Op, note: &str, stream: u8) -> Part {
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
            self.programs.push(Program {
                name: name.into(),
                lines,
            });
        }
        Part {
            program,
            ahead: Ticks(0),
            remainder: 0,
            initial: Level(0),
            stream,
        }
    }

    fn shows(&mut self, project: &Project, patterns: &[Vec<Part>]) -> (Vec<Scene>, Vec<ShowRange>) {
        let mut scenes: Vec<Scene> = Vec::new();
        let mut shows = Vec::new();
        for show in &project.shows {
            let (kind, wanted) = match &show.value {
                Show::Roam {
                    patterns: chosen, ..
                }
                | Show::Solo { patterns: chosen } => {
                    let scene = |&index: &u8| {
                        let index = usize::from(index);
                        Scene {
                            name: project.patterns[index].name.value.clone(),
                            origin: Origin::Pattern(index),
                            parts: patterns[index].clone(),
                        }
                    };
                    let kind = match show.value {
                        Show::Roam { .. } => ShowKind::Roam,
                        _ => ShowKind::Solo,
                    };
                    (kind, chosen.iter().map(scene).collect::<Vec<_>>())
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
        (scenes, shows)
    }

    /// Level `n` of `count` equal steps up to the ceiling.
    fn fixed(&mut self, n: u8, count: u8) -> Scene {
        let share = Share(f64::from(n) / f64::from(count));
        let level = moves::nearest(share, self.rules.top);
        let shown = Share((share.0 * 1000.0).round() / 1000.0);
        let length = self.rules.grid.length(0.0, 1.0);
        let op = Op::Fade { length, to: level };
        let part = self.steady(&format!("steady_{n}"), op, &format!("steady at {shown}"), 0);
        Scene {
            name: format!("steady {n} of {count}"),
            origin: Origin::Steady(level),
            parts: vec![part; self.channels],
        }
    }
}

/// Where the scenes already stand in a row, if they do.
fn find(scenes: &[Scene], wanted: &[Scene]) -> Option<usize> {
    (0..scenes.len()).find(|&at| scenes[at..].starts_with(wanted))
}

/// Index of a last move that never ends.
fn endless(moves: &[Move]) -> Option<usize> {
    let last = moves.len().checked_sub(1)?;
    match &moves[last].what {
        What::Repeat {
            times: Times::Forever,
            ..
        }
        | What::Wave {
            cycles: Times::Forever,
            ..
        } => Some(last),
        _ => None,
    }
}

/// A track that is a single wave is the same wave on every channel, each behind the one before it.
fn with_stagger(track: &Track, grid: Grid) -> Track {
    let mut track = track.clone();
    // For ever, by itself, is what a track does anyway.
    while let [step] = track.steps.as_mut_slice() {
        match &mut step.value {
            Step::Repeat {
                times: Times::Forever,
                steps,
            } => track.steps = std::mem::take(steps),
            Step::Wave(wave) if wave.cycles == Times::Forever => wave.cycles = Times::Count(1),
            _ => break,
        }
    }
    if let [step] = track.steps.as_mut_slice()
        && let Step::Wave(wave) = &mut step.value
        && track.channels.len() > 1
        && track.stagger.value.0 == 0
    {
        let lag = wave.period.value.0 as f64 * wave.spread.0.rem_euclid(1.0);
        let half = Time(wave.period.value.0 / 2);
        // Where both the lag and the wave's turns have to be rounded, that adds up.
        if lag.fract() == 0.0 && (grid.tells(Time(lag as u64)) || grid.tells(half)) {
            track.stagger.value = Time(lag as u64);
            wave.spread = Share(0.0);
        }
    }
    track
}
