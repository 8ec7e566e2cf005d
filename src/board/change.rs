//! Flashes over changes of scene: the end of one, the start of another.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::Serialize;

use super::flash::Busiest;
use super::stage::Stage;
use super::take::Take;
use super::watch::{Outlook, Watch};
use crate::conduct::fade::FadeStep;
use crate::conduct::fade::Master;
use crate::design::Design;
use crate::input::knob::Gain;
use crate::score::{ShowKind, ShowRange};
use crate::units::{Level, Luminance, Seconds, Time};

/// Moments at which each scene is left, spread evenly over its recording.
const MOMENTS: usize = 48;
/// Ticks looked at in all, at the most; beyond it, fewer moments are tried.
const MOST_TICKS: usize = 20_000_000;

/// The worst change of scene.
#[derive(Debug, Clone, Serialize)]
pub struct ChangeReport {
    pub from: String,
    pub to: String,
    /// Flashes in the worst second around the change.
    pub worst: Busiest,
    /// When in the old scene it is left.
    pub left_at: Seconds,
    /// Pairs of scenes, times moments…
    pub tried: usize,
    /// …and how many of them flash more than three times in a second.
    pub failing: usize,
    /// The shortest `change_fade` of those tried with which none does; `None`: none is needed, or
    /// none would do.
    pub remedy: Option<Time>,
}

/// Fades that are tried as a remedy, in milliseconds.
const FADES: [u64; 9] = [200, 400, 600, 800, 1000, 1500, 2000, 3000, 5000];

/// Changes between scenes that pass by themselves: `passes` tells which. `None`: there are none.
pub(super) fn changes(
    stage: &Stage,
    takes: &[Take],
    passes: impl Fn(usize) -> bool,
) -> Option<ChangeReport> {
    let design = stage.design;
    let mut pairs = pairs(design);
    pairs.retain(|&(from, to)| from != to && passes(from) && passes(to));
    if pairs.is_empty() {
        return None;
    }
    let tick_length = design.plan.tick.seconds();
    let fade = design.firmware.fade.map_or(0, FadeStep::ticks);
    let each = 2 * (stage.second + fade);
    let affordable = MOST_TICKS / each / pairs.len();
    let moments = MOMENTS.min(affordable).max(2);
    let crossing = Crossing { takes, stage };
    let left_at = |from: usize, moment| moment * takes[from].ticks() / moments;
    let tried = crossing.tried(&pairs, design.firmware.fade, |from| {
        (0..moments).map(|moment| left_at(from, moment)).collect()
    });
    // The first of equals, in the order of the shows.
    let worst = tried
        .iter()
        .max_by_key(|one| (one.busiest.flashes, Reverse(one.key())))?;
    let failing: Vec<&Tried> = tried.iter().filter(|one| !one.busiest.passes).collect();
    let passes_with = |time: &Time| {
        let fade = FadeStep::new(*time, &design.plan.tick);
        let pairs = failing.iter().map(|one| (one.from, one.to)).collect();
        let again = crossing.tried(&pairs, fade, |from| {
            let from_there = failing.iter().filter(|one| one.from == from);
            let ticks: BTreeSet<usize> = from_there.map(|one| one.tick).collect();
            ticks.into_iter().collect()
        });
        again.iter().all(|one| one.busiest.passes)
    };
    let longer = FADES.map(Time::from_millis);
    let mut longer = longer
        .into_iter()
        .filter(|&time| time > design.project.change_fade.value);
    let name = |scene: usize| design.deck.image.score.scenes[scene].name.clone();
    Some(ChangeReport {
        from: name(worst.from),
        to: name(worst.to),
        worst: worst.busiest,
        left_at: Seconds(worst.tick as f64 * tick_length),
        tried: tried.len(),
        failing: failing.len(),
        remedy: (!failing.is_empty())
            .then(|| longer.find(passes_with))
            .flatten(),
    })
}

/// Which scene can follow which.
fn pairs(design: &Design) -> BTreeSet<(usize, usize)> {
    let shows = &design.deck.image.score.shows;
    let rules = &design.firmware.rules;
    let mut pairs = BTreeSet::new();
    for (index, show) in shows.iter().enumerate() {
        let scenes = show.scenes();
        if show.kind == ShowKind::Roam && rules.roams() {
            for from in scenes.clone() {
                pairs.extend(scenes.clone().map(|to| (from, to)));
            }
        } else if rules.taps() {
            let next = scenes.clone().cycle().skip(1);
            pairs.extend(scenes.clone().zip(next));
        }
        if rules.holds() {
            let next = &shows[(index + 1) % shows.len()];
            let others = next.scenes();
            for from in scenes {
                pairs.extend(others.clone().map(|to| (from, to)));
            }
        }
    }
    let shown = || shows.iter().flat_map(ShowRange::scenes);
    for once in rules.once() {
        let once = usize::from(once.scene);
        pairs.extend(shown().flat_map(|scene| [(scene, once), (once, scene)]));
    }
    pairs
}

/// A change that was looked at.
struct Tried {
    from: usize,
    to: usize,
    /// When the old scene is left.
    tick: usize,
    busiest: Busiest,
}

impl Tried {
    fn key(&self) -> (usize, usize, usize) {
        (self.from, self.to, self.tick)
    }
}

struct Crossing<'a> {
    /// By scene.
    takes: &'a [Take],
    stage: &'a Stage<'a>,
}

/// A scene that was left at a tick.
struct Departure {
    from: usize,
    tick: usize,
    /// What has been seen of it.
    left: Watch,
    outlook: Outlook,
}

impl Departure {
    fn new(from: usize, tick: usize, left: Watch) -> Self {
        Self {
            from,
            tick,
            outlook: left.outlook(),
            left,
        }
    }
}

impl Crossing<'_> {
    /// Every pair, with the old scene left at each of the ticks that `moments` gives for it.
    ///
    /// What comes before the new scene is watched once for all that may follow, and how a new scene
    /// begins is worked out once for all that may precede it.
    fn tried(
        &self,
        pairs: &BTreeSet<(usize, usize)>,
        fade: Option<FadeStep>,
        moments: impl Fn(usize) -> Vec<usize>,
    ) -> Vec<Tried> {
        let mut beginnings = BTreeMap::new();
        let mut followers: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for &(from, to) in pairs {
            beginnings
                .entry(to)
                .or_insert_with(|| self.beginning(to, fade));
            followers.entry(from).or_default().push(to);
        }
        let departures: Vec<(usize, usize)> = followers
            .keys()
            .flat_map(|&from| moments(from).into_iter().map(move |tick| (from, tick)))
            .collect();
        let departures: Vec<Departure> = departures
            .into_par_iter()
            .map(|(from, tick)| Departure::new(from, tick, self.left(from, tick, fade)))
            .collect();
        let pairs = || {
            let each = departures.iter();
            each.flat_map(|one| followers[&one.from].iter().map(move |&to| (one, to)))
        };
        // Most scenes are left in the dark, and go on alike from there.
        let mut onward: BTreeMap<_, Watch> = BTreeMap::new();
        for (departure, to) in pairs() {
            onward
                .entry((to, departure.outlook))
                .or_insert_with(|| departure.left.onward());
        }
        let onward: BTreeMap<_, Watch> = onward
            .into_par_iter()
            .map(|((to, outlook), mut watch)| {
                for &(light, ticks) in &beginnings[&to] {
                    watch.see_for(light, ticks);
                }
                ((to, outlook), watch)
            })
            .collect();
        pairs()
            .map(|(departure, to)| Tried {
                from: departure.from,
                to,
                tick: departure.tick,
                busiest: departure
                    .left
                    .busiest_with(&onward[&(to, departure.outlook)]),
            })
            .collect()
    }

    /// Having seen the last second of a scene, and it fade if there is a fade.
    fn left(&self, scene: usize, tick: usize, fade: Option<FadeStep>) -> Watch {
        let old = &self.takes[scene];
        let before = self.stage.second.min(tick);
        let mut watch = Watch::new(self.stage.step);
        for (light, ticks) in self.stage.lights(old, tick - before, before) {
            watch.see_for(light, ticks);
        }
        if let Some(fade) = fade {
            let mut master = Master::full(fade);
            let levels = old
                .stretches_from(tick, fade.ticks() + 1)
                .flat_map(|stretch| std::iter::repeat_n(stretch.levels, stretch.ticks));
            for levels in levels {
                watch.see(self.dimmed(levels, master));
                if master.sink() {
                    break;
                }
            }
        }
        watch
    }

    /// The first second of a scene, after it has come up if there is a fade: lights, and for how
    /// many ticks they stay.
    fn beginning(&self, scene: usize, fade: Option<FadeStep>) -> Vec<(Luminance, usize)> {
        let new = &self.takes[scene];
        let mut light = Vec::new();
        if let Some(fade) = fade {
            let mut master = Master::dark(fade);
            while !master.is_full() {
                let levels = new.levels_at(light.len());
                light.push((self.dimmed(levels, master), 1));
                master.rise(Gain::FULL);
            }
        }
        light.extend(self.stage.lights(new, light.len(), self.stage.second));
        light
    }

    fn dimmed(&self, levels: &[Level], master: Master) -> Luminance {
        let dim = levels.iter().map(|&level| master.dim(level));
        self.stage.shine.of(dim)
    }
}
