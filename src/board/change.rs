//! Flashes over changes of scene: the end of one, the start of another.

use std::collections::BTreeSet;

use serde::Serialize;

use super::clock::ClockTruth;
use super::flash::{Busiest, Course};
use super::light::Shine;
use super::take::Take;
use crate::design::Design;
use crate::firmware::FadeStep;
use crate::score::ShowKind;
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
pub fn changes(
    design: &Design,
    takes: &[Vec<Take>],
    shine: &Shine,
    passes: impl Fn(usize) -> bool,
) -> Option<ChangeReport> {
    let mut pairs = pairs(design);
    pairs.retain(|&(from, to)| from != to && passes(from) && passes(to));
    let tick_length = design.plan.tick.seconds();
    let step = Seconds(tick_length / ClockTruth::new(&design.plan).factors()[1]);
    let second = (1.0 / step.0).ceil() as usize + 1;
    let fade = design
        .firmware
        .fade
        .map_or(0, |fade| 65_536 / usize::from(fade.0).max(1));
    let each = 2 * (second + fade);
    let affordable = MOST_TICKS / each / pairs.len().max(1);
    let moments = MOMENTS.min(affordable).max(2);
    let mut worst: Option<ChangeReport> = None;
    let mut tried = 0;
    let mut failing = Vec::new();
    let played: Vec<Played> = takes
        .iter()
        .map(|takes| Played::new(&takes[0], shine))
        .collect();
    let crossing = Crossing {
        shine,
        second,
        fade: design.firmware.fade,
    };
    for (from, to) in pairs {
        let (old, new) = (&played[from], &played[to]);
        for moment in 0..moments {
            let tick = moment * old.take.ticks() / moments;
            let light = crossing.light(old, tick, new);
            let busiest = Course {
                step,
                light: &light,
            }
            .busiest();
            tried += 1;
            if !busiest.passes {
                failing.push((from, to, tick));
            }
            if worst
                .as_ref()
                .is_none_or(|w| busiest.flashes > w.worst.flashes)
            {
                let name = |scene: usize| design.deck.image.score.scenes[scene].name.clone();
                worst = Some(ChangeReport {
                    from: name(from),
                    to: name(to),
                    worst: busiest,
                    left_at: Seconds(tick as f64 * tick_length),
                    tried: 0,
                    failing: 0,
                    remedy: None,
                });
            }
        }
    }
    let passes_with = |time: &Time| {
        let fade = FadeStep::new(*time, &design.plan.tick);
        let slower = Crossing { fade, ..crossing };
        failing.iter().all(|&(from, to, tick)| {
            let light = &slower.light(&played[from], tick, &played[to]);
            Course { step, light }.busiest().passes
        })
    };
    let longer = FADES.map(Time::from_millis);
    let mut longer = longer
        .into_iter()
        .filter(|&time| time > design.project.change_fade.value);
    worst.map(|worst| ChangeReport {
        tried,
        failing: failing.len(),
        remedy: (!failing.is_empty())
            .then(|| longer.find(passes_with))
            .flatten(),
        ..worst
    })
}

/// Which scene can follow which.
fn pairs(design: &Design) -> BTreeSet<(usize, usize)> {
    let shows = &design.deck.image.score.shows;
    let features = &design.firmware.features;
    let mut pairs = BTreeSet::new();
    for (index, show) in shows.iter().enumerate() {
        let scenes = usize::from(show.first)..usize::from(show.first) + usize::from(show.count);
        if show.kind == ShowKind::Roam && features.roams {
            for from in scenes.clone() {
                pairs.extend(scenes.clone().map(|to| (from, to)));
            }
        } else if features.taps {
            let next = scenes.clone().cycle().skip(1);
            pairs.extend(scenes.clone().zip(next));
        }
        if features.holds {
            let next = &shows[(index + 1) % shows.len()];
            let others = usize::from(next.first)..usize::from(next.first) + usize::from(next.count);
            for from in scenes {
                pairs.extend(others.clone().map(|to| (from, to)));
            }
        }
    }
    pairs
}

/// A take of a scene, with its light.
struct Played<'a> {
    take: &'a Take,
    light: Vec<Luminance>,
}

impl<'a> Played<'a> {
    fn new(take: &'a Take, shine: &Shine) -> Self {
        let light = take
            .frames()
            .map(|frame| shine.of(frame.iter().copied()))
            .collect();
        Self { take, light }
    }

    /// Its light from a tick on, without end.
    fn light(&self, from: usize) -> impl Iterator<Item = Luminance> {
        (from..).map(|tick| self.light[self.take.index(tick)])
    }
}

#[derive(Clone, Copy)]
struct Crossing<'a> {
    shine: &'a Shine,
    /// In ticks.
    second: usize,
    fade: Option<FadeStep>,
}

impl Crossing<'_> {
    /// The last second of the old scene, the fade if there is one, and a second of the new.
    fn light(&self, old: &Played, tick: usize, new: &Played) -> Vec<Luminance> {
        let before = self.second.min(tick);
        let mut light: Vec<Luminance> = old.light(tick - before).take(before).collect();
        let Some(fade) = self.fade else {
            light.extend(new.light(0).take(self.second));
            return light;
        };
        // As the firmware does it: the master level scales levels, not light.
        let dimmed = |take: &Take, tick: usize, master: u16| {
            let scale = (master >> 8) + 1;
            let level = |level: &Level| Level(((u16::from(level.0) * scale) >> 8) as u8);
            self.shine
                .of(take.frame(take.index(tick)).iter().map(level))
        };
        let mut master = u16::MAX;
        for tick in tick.. {
            light.push(dimmed(old.take, tick, master));
            match master.checked_sub(fade.0) {
                Some(left) if left > 0 => master = left,
                Some(_) | None => break,
            }
        }
        master = 0;
        let mut tick = 0;
        while master < u16::MAX {
            light.push(dimmed(new.take, tick, master));
            master = master.saturating_add(fade.0);
            tick += 1;
        }
        light.extend(new.light(tick).take(self.second));
        light
    }
}
