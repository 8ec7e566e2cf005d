//! Which patterns look different, and how.

use serde::Serialize;

use crate::design::Design;
use crate::preview::{self, Round, View, Window};
use crate::score::Scene;
use crate::units::Lightness;

use super::course::{Course, compare};
use super::{Fact, PatternChange, pair};

/// What becomes of a pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum ChangeKind {
    Added,
    Removed,
    /// It plays the same under another name.
    Renamed,
    Changed,
}

/// No more than this is played side by side, in seconds.
const LONGEST: f64 = 600.0;
/// And no more than so many ticks.
const TICKS: f64 = 200_000.0;

/// The patterns that differ, and how many do not.
pub fn patterns(old: &Design, new: &Design) -> (Vec<PatternChange>, usize) {
    let mut changes = Vec::new();
    let mut same = 0;
    let mut renames: Vec<String> = Vec::new();
    for (at, scene) in preview::played(new) {
        let before = find(old, name(new, at));
        match before {
            None => match alike(old, new, scene, &renames) {
                Some(was) => {
                    changes.push(renamed(&was, new, at));
                    renames.push(was);
                }
                None => changes.push(alone(new, at, scene, ChangeKind::Added)),
            },
            Some((was, old_scene)) => match changed(old, new, (was, old_scene), (at, scene)) {
                Some(change) => changes.push(change),
                None => same += 1,
            },
        }
    }
    for (at, scene) in preview::played(old) {
        let name = name(old, at);
        if find(new, name).is_none() && !renames.iter().any(|was| was == name) {
            changes.push(alone(old, at, scene, ChangeKind::Removed));
        }
    }
    (changes, same)
}

/// The name of the pattern that the new version lacks and that plays as this scene of it does.
fn alike(old: &Design, new: &Design, scene: usize, taken: &[String]) -> Option<String> {
    preview::played(old)
        .filter(|&(_, was)| plays_the_same(old, new, was, scene))
        .map(|(at, _)| name(old, at).to_string())
        .find(|name| find(new, name).is_none() && !taken.contains(name))
}

/// A pattern by its name, and the scene that plays it.
fn find(design: &Design, name: &str) -> Option<(usize, usize)> {
    let patterns = &design.project.patterns;
    let at = patterns
        .iter()
        .position(|pattern| pattern.name.value == name)?;
    Some((at, preview::scene(design, at)?))
}

fn name(design: &Design, pattern: usize) -> &str {
    &design.project.patterns[pattern].name.value
}

fn round(design: &Design, pattern: usize) -> String {
    let round = Round::of(&design.project.patterns[pattern]);
    let about = if round.exact { "" } else { "about " };
    let lead = match round.lead.0 {
        0 => String::new(),
        _ => format!(" after {}", round.lead),
    };
    format!("{about}{}{lead}", round.length)
}

fn renamed(was: &str, new: &Design, pattern: usize) -> PatternChange {
    let round = round(new, pattern);
    PatternChange {
        name: name(new, pattern).to_string(),
        was: Some(was.to_string()),
        kind: ChangeKind::Renamed,
        round: Fact {
            what: "round".to_string(),
            old: round.clone(),
            new: round,
        },
        random: false,
        compared: 0.0,
        channels: Vec::new(),
        timelines: String::new(),
    }
}

fn alone(design: &Design, pattern: usize, scene: usize, kind: ChangeKind) -> PatternChange {
    let room = pair::room(&[design]);
    let window = Window::new(design, pattern, scene, &View::default(), room);
    let (old, new) = match kind {
        ChangeKind::Removed => (round(design, pattern), String::new()),
        _ => (String::new(), round(design, pattern)),
    };
    PatternChange {
        name: window.name.clone(),
        was: None,
        kind,
        round: Fact {
            what: "round".to_string(),
            old,
            new,
        },
        random: window.random,
        compared: 0.0,
        channels: Vec::new(),
        timelines: pair::alone(design, scene, window),
    }
}

/// How a pattern differs, if it does.
fn changed(
    old: &Design,
    new: &Design,
    (old_pattern, old_scene): (usize, usize),
    (new_pattern, new_scene): (usize, usize),
) -> Option<PatternChange> {
    if plays_the_same(old, new, old_scene, new_scene) {
        return None;
    }
    let view = View::default();
    let room = pair::room(&[old, new]);
    let before = Window::new(old, old_pattern, old_scene, &view, room);
    let after = Window::new(new, new_pattern, new_scene, &view, room);
    let step = old.grid.tick_seconds().min(new.grid.tick_seconds());
    let span = before.span().max(after.span());
    let span = span.min(LONGEST).min(TICKS * step).max(step);
    let channels = compare(
        &Course::play(old, old_scene, step, span, first(&before)),
        &Course::play(new, new_scene, step, span, first(&after)),
    );
    let rounds = Fact {
        what: "round".to_string(),
        old: round(old, old_pattern),
        new: round(new, new_pattern),
    };
    if channels.is_empty() && rounds.old == rounds.new {
        return None;
    }
    let (before, after) = if before.span() > after.span() {
        let after = after.beside(&before);
        (before, after)
    } else {
        (before.beside(&after), after)
    };
    let marked: Vec<&str> = channels
        .iter()
        .map(|change| change.channel.as_str())
        .collect();
    Some(PatternChange {
        name: after.name.clone(),
        was: None,
        kind: ChangeKind::Changed,
        round: rounds,
        random: before.random || after.random,
        compared: span,
        timelines: pair::both((old, old_scene, before), (new, new_scene, after), &marked),
        channels,
    })
}

/// The end of a pattern's first round, in seconds.
fn first(window: &Window) -> f64 {
    window.round.lead.seconds() + window.round.length.seconds()
}

/// Whether two scenes play the same for certain: the same programs, started the same way, on ticks
/// of the same length, with the same light.
fn plays_the_same(old: &Design, new: &Design, old_scene: usize, new_scene: usize) -> bool {
    let scenes = |design: &Design, scene: usize| design.deck.image.score.scenes[scene].clone();
    let (before, after) = (scenes(old, old_scene), scenes(new, new_scene));
    old.grid == new.grid
        && old.deck.image.format.streams == new.deck.image.format.streams
        && names(old) == names(new)
        && preview::lights(old) == preview::lights(new)
        && before.parts.len() == after.parts.len()
        && before.parts.iter().zip(&after.parts).all(|(a, b)| {
            (a.ahead, a.remainder, a.initial, a.stream)
                == (b.ahead, b.remainder, b.initial, b.stream)
        })
        && programs(old, &before).eq(programs(new, &after))
}

fn programs<'a>(
    design: &'a Design,
    scene: &'a Scene,
) -> impl Iterator<Item = Vec<&'a crate::score::Op>> {
    let programs = &design.deck.image.score.programs;
    scene.parts.iter().map(|part| {
        programs[part.program]
            .lines
            .iter()
            .map(|line| &line.op)
            .collect()
    })
}

fn names(design: &Design) -> Vec<&str> {
    let channels = design.project.channels.iter();
    channels
        .map(|channel| channel.name.value.as_str())
        .collect()
}

/// Whether steady shows have the same levels, in light.
pub fn same_steady(old: &Design, new: &Design) -> bool {
    steady(old) == steady(new)
}

fn steady(design: &Design) -> Vec<Vec<Lightness>> {
    let lights = preview::lights(design);
    let scenes = &design.deck.image.score.scenes;
    scenes
        .iter()
        .filter_map(Scene::steady_level)
        .map(|level| {
            lights
                .iter()
                .map(|lights| lights[usize::from(level.0)])
                .collect()
        })
        .collect()
}
