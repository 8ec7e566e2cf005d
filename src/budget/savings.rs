//! What would make a project smaller, tried out: each idea is planned, lowered and estimated anew.

use serde::Serialize;

use super::{Flash, Ram, patterns};
use crate::design::Design;
use crate::diagnostic::Spanned;
use crate::emit;
use crate::spec::{Does, PatternId, Project, Show};
use crate::units::{Bytes, Share, Time};

/// Something to give up, and what that brings.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Saving {
    pub idea: String,
    pub flash: Bytes,
    pub ram: Bytes,
    /// Whether all fits then.
    pub enough: bool,
}

/// Each idea is planned, lowered and written anew. So many are tried…
const IDEAS: usize = 24;
/// …and fewer where a project is long: lines of programs in all.
const LINES: usize = 1 << 15;

/// So many patterns are tried to be dropped, the largest first.
const PATTERNS: usize = 4;

/// Levels of a steady show that are enough for most.
const FEW_LEVELS: u8 = 3;

/// Beyond this many times the chip, no single idea helps but the largest patterns.
const HOPELESS: u32 = 4;

/// An idea, and the project with it.
type Variant = (String, Project);

/// What saves something, most first.
pub(super) fn savings(design: &Design, flash: &Flash, ram: &Ram) -> Vec<Saving> {
    let chip = design.plan.chip;
    let mut variants = without_patterns(design);
    if flash.total().0 < HOPELESS * chip.flash.0 {
        variants.extend(simpler(&design.project));
    }
    let programs = design.deck.image.score.programs.iter();
    let lines: usize = programs.map(|program| program.lines.len()).sum();
    variants.truncate(IDEAS.min(LINES / lines.max(1)));
    let mut savings: Vec<Saving> = variants
        .into_iter()
        .filter_map(|(idea, project)| {
            let variant = Design::new(project).ok()?;
            let sources = emit::firmware(&variant);
            let (small, slim) = (Flash::new(&variant, &sources), Ram::new(&variant, &sources));
            let less = |from: Bytes, to: Bytes| Bytes(from.0.saturating_sub(to.0));
            Some(Saving {
                idea,
                flash: less(flash.total(), small.total()),
                ram: less(ram.total(), slim.total()),
                enough: small.total() <= chip.flash && slim.total() <= chip.ram.size,
            })
        })
        .filter(|saving| saving.flash.0 > 0 || saving.ram.0 > 0)
        .collect();
    let ram_is_short = ram.total() > chip.ram.size && flash.total() <= chip.flash;
    savings.sort_by_key(|saving| {
        let most = if ram_is_short {
            saving.ram
        } else {
            saving.flash
        };
        std::cmp::Reverse((saving.enough, most))
    });
    savings
}

fn without_patterns(design: &Design) -> Vec<Variant> {
    let project = &design.project;
    let by_size = patterns::sizes(design);
    let largest = by_size
        .iter()
        .filter_map(|(name, _)| project.pattern_named(name));
    largest
        .take(PATTERNS)
        .filter_map(|id| {
            let name = &project.pattern(id).name.value;
            Some((format!("drop the pattern `{name}`"), without(project, id)?))
        })
        .collect()
}

/// `None`: a show, a contact or the start would be left with nothing to play.
fn without(project: &Project, dropped: PatternId) -> Option<Project> {
    let mut project = project.clone();
    let mut once: Vec<&mut PatternId> = Vec::new();
    let contacts = project
        .contacts
        .iter_mut()
        .filter_map(|contact| match &mut contact.does {
            Does::Plays(once) => Some(once),
            Does::Taps(_) => None,
        });
    for plays in project.start.iter_mut().chain(contacts) {
        once.push(&mut plays.pattern.value);
    }
    if once.iter().any(|pattern| **pattern == dropped) {
        return None;
    }
    for pattern in once.into_iter().filter(|pattern| **pattern > dropped) {
        pattern.0 -= 1;
    }
    project.patterns.remove(usize::from(dropped.0));
    for show in &mut project.shows {
        if let Show::Roam { patterns, .. } | Show::Solo { patterns } = &mut show.value {
            patterns.retain(|pattern| *pattern != dropped);
            for pattern in patterns.iter_mut().filter(|pattern| **pattern > dropped) {
                pattern.0 -= 1;
            }
            let least = if matches!(show.value, Show::Roam { .. }) {
                2
            } else {
                1
            };
            let (Show::Roam { patterns, .. } | Show::Solo { patterns }) = &show.value else {
                unreachable!("matched above")
            };
            if patterns.len() < least {
                return None;
            }
        }
    }
    Some(project)
}

/// Everything else that could be given up, one thing at a time.
fn simpler(project: &Project) -> Vec<Variant> {
    let mut ideas = Ideas {
        project,
        variants: Vec::new(),
    };
    ideas.of_brightness();
    ideas.of_parts();
    ideas.of_shows();
    ideas.variants
}

struct Ideas<'a> {
    project: &'a Project,
    variants: Vec<Variant>,
}

impl Ideas<'_> {
    fn add(&mut self, wanted: bool, idea: impl Into<String>, change: impl FnOnce(&mut Project)) {
        if wanted {
            let mut variant = self.project.clone();
            change(&mut variant);
            self.variants.push((idea.into(), variant));
        }
    }

    fn of_brightness(&mut self) {
        let brightness = &self.project.brightness;
        for looser in [2.0, 4.0] {
            let most = brightness.error.value * looser;
            self.add(
                most <= 4.0,
                format!("allow the brightness an error of {most} L*"),
                |project| project.brightness.error.value = most,
            );
        }
        self.add(
            brightness.levels.value > 64,
            "use 64 brightness levels",
            |project| project.brightness.levels.value = 64,
        );
    }

    /// Of the firmware, each of which takes code of its own.
    fn of_parts(&mut self) {
        let project = self.project;
        let mut channels = project.channels.iter();
        self.add(
            project.change_fade.value.0 > 0,
            "change patterns at once, without `change_fade`",
            |project| project.change_fade.value = Time(0),
        );
        self.add(
            channels.any(|channel| channel.trim.value.0 < 1.0),
            "do without trims",
            |project| {
                for channel in &mut project.channels {
                    channel.trim.value = Share(1.0);
                }
            },
        );
        self.add(project.memory.is_some(), "turn `memory` off", |project| {
            project.memory = None;
        });
        self.add(
            project.charge_pump.is_some(),
            "do without the charge pump",
            |project| project.charge_pump = None,
        );
        self.add(
            project.watchdog.is_some(),
            "turn the watchdog off",
            |project| project.watchdog = None,
        );
    }

    fn of_shows(&mut self) {
        let project = self.project;
        for levels in steady_levels(project) {
            self.add(
                levels > FEW_LEVELS,
                format!("offer {FEW_LEVELS} steady levels instead of {levels}"),
                |project| {
                    for show in &mut project.shows {
                        if let Show::Steady { levels } = &mut show.value {
                            *levels = FEW_LEVELS;
                        }
                    }
                },
            );
        }
        for (index, show) in project.shows.iter().enumerate() {
            let idea = format!("drop the show `{}`", kind(&show.value));
            self.add(project.shows.len() > 1, idea, |project| {
                project.shows.remove(index);
            });
        }
        for times in [2, 4] {
            let Some(tick) = project.tick else { break };
            let longer = Time(tick.value.0 * times);
            self.add(true, format!("make the tick {longer}"), |project| {
                project.tick = Some(Spanned::new(longer, tick.span));
            });
        }
    }
}

fn steady_levels(project: &Project) -> Vec<u8> {
    let levels = project.shows.iter().filter_map(|show| match show.value {
        Show::Steady { levels } => Some(levels),
        _ => None,
    });
    levels.take(1).collect()
}

fn kind(show: &Show) -> &'static str {
    match show {
        Show::Roam { .. } => "roam",
        Show::Steady { .. } => "steady",
        Show::Solo { .. } => "solo",
    }
}
