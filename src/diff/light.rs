//! Which patterns look different, and how.

use serde::Serialize;

use crate::design::Design;
use crate::preview::{self, Round, Style, View, Window};
use crate::score::Scene;
use crate::spec::PatternId;
use crate::units::Lightness;

use super::course::{Played, compare};
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
pub(super) fn patterns(old: &Design, new: &Design, style: &Style) -> (Vec<PatternChange>, usize) {
    let mut changes = Vec::new();
    let mut same = 0;
    let versions = Versions::new(old, new, style);
    let mut renames: Vec<String> = Vec::new();
    for (at, scene) in preview::played(new) {
        let before = find(old, name(new, at));
        match before {
            None => match versions.alike(scene, &renames) {
                Some(was) => {
                    changes.push(renamed(&was, new, at));
                    renames.push(was);
                }
                None => changes.push(alone(new, at, scene, ChangeKind::Added, style)),
            },
            Some((was, old_scene)) => match versions.changed((was, old_scene), (at, scene)) {
                Some(change) => changes.push(change),
                None => same += 1,
            },
        }
    }
    for (at, scene) in preview::played(old) {
        let name = name(old, at);
        if find(new, name).is_none() && !renames.iter().any(|was| was == name) {
            changes.push(alone(old, at, scene, ChangeKind::Removed, style));
        }
    }
    (changes, same)
}

/// Two versions, with what holds for all their patterns.
struct Versions<'a> {
    old: &'a Design,
    new: &'a Design,
    /// How timelines are drawn.
    style: &'a Style,
    /// Equal programs are equal light: ticks, channels, levels and streams are the same.
    comparable: bool,
}

impl<'a> Versions<'a> {
    fn new(old: &'a Design, new: &'a Design, style: &'a Style) -> Self {
        let comparable = old.grid == new.grid
            && old.deck.image.format.streams == new.deck.image.format.streams
            && names(old) == names(new)
            && preview::lights(old) == preview::lights(new);
        Self {
            old,
            new,
            style,
            comparable,
        }
    }

    /// The name of the pattern that the new version lacks and that plays as this scene of it does.
    fn alike(&self, scene: usize, taken: &[String]) -> Option<String> {
        let free =
            |name: &str| find(self.new, name).is_none() && !taken.iter().any(|was| was == name);
        preview::played(self.old)
            .map(|(at, was)| (name(self.old, at), was))
            .find(|&(name, was)| free(name) && self.plays_the_same(was, scene))
            .map(|(name, _)| name.to_string())
    }

    /// How a pattern differs, if it does.
    fn changed(
        &self,
        (old_pattern, old_scene): (PatternId, usize),
        (new_pattern, new_scene): (PatternId, usize),
    ) -> Option<PatternChange> {
        let (old, new) = (self.old, self.new);
        if self.plays_the_same(old_scene, new_scene) {
            return None;
        }
        let view = View::default();
        let room = pair::room(&[old, new], self.style);
        let before = Window::new(old, old_pattern, old_scene, &view, room);
        let after = Window::new(new, new_pattern, new_scene, &view, room);
        let step = old.grid.tick_seconds().min(new.grid.tick_seconds());
        let span = before.span().max(after.span());
        let span = span.min(LONGEST).min(TICKS * step).max(step);
        let channels = compare(
            &Played::play(old, old_scene, step, span, first(&before)),
            &Played::play(new, new_scene, step, span, first(&after)),
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
            timelines: pair::both(
                (old, old_scene, before),
                (new, new_scene, after),
                &marked,
                self.style,
            ),
            channels,
        })
    }

    /// Whether two scenes play the same for certain: the same programs, started the same way.
    fn plays_the_same(&self, old_scene: usize, new_scene: usize) -> bool {
        let before = &self.old.deck.image.score.scenes[old_scene];
        let after = &self.new.deck.image.score.scenes[new_scene];
        self.comparable
            && before.parts.len() == after.parts.len()
            && before.parts.iter().zip(&after.parts).all(|(a, b)| {
                (a.ahead, a.remainder, a.initial, a.stream)
                    == (b.ahead, b.remainder, b.initial, b.stream)
            })
            && programs(self.old, before).eq(programs(self.new, after))
    }
}

/// A pattern by its name, and the scene that plays it.
fn find(design: &Design, name: &str) -> Option<(PatternId, usize)> {
    let at = design.project.pattern_named(name)?;
    Some((at, preview::scene(design, at)?))
}

fn name(design: &Design, pattern: PatternId) -> &str {
    &design.project.pattern(pattern).name.value
}

fn round(design: &Design, pattern: PatternId) -> String {
    let round = Round::of(design.project.pattern(pattern));
    let about = if round.exact { "" } else { "about " };
    let lead = match round.lead.0 {
        0 => String::new(),
        _ => format!(" after {}", round.lead),
    };
    format!("{about}{}{lead}", round.length)
}

fn renamed(was: &str, new: &Design, pattern: PatternId) -> PatternChange {
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

fn alone(
    design: &Design,
    pattern: PatternId,
    scene: usize,
    kind: ChangeKind,
    style: &Style,
) -> PatternChange {
    let room = pair::room(&[design], style);
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
        timelines: pair::alone(design, scene, window, style),
    }
}

/// The end of a pattern's first round, in seconds.
fn first(window: &Window) -> f64 {
    window.round.lead.seconds() + window.round.length.seconds()
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
pub(super) fn same_steady(old: &Design, new: &Design) -> bool {
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
