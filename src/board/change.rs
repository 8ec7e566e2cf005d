//! Flashes over changes of scene: the end of one, the start of another.

use std::collections::BTreeSet;

use serde::Serialize;

use super::clock::ClockTruth;
use super::flash::{Busiest, Course};
use super::light::Shine;
use super::take::Take;
use crate::design::Design;
use crate::score::ShowKind;
use crate::units::{Level, Luminance, Seconds};

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
}

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
    let (mut tried, mut failing) = (0, 0);
    for (from, to) in pairs {
        let (old, new) = (&takes[from][0], &takes[to][0]);
        for moment in 0..moments {
            let tick = moment * old.ticks() / moments;
            let before = second.min(tick);
            let light = Crossing {
                design,
                shine,
                second,
            }
            .light(old, tick, before, new);
            let busiest = Course {
                step,
                light: &light,
            }
            .busiest();
            tried += 1;
            failing += usize::from(!busiest.passes);
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
                });
            }
        }
    }
    worst.map(|worst| ChangeReport {
        tried,
        failing,
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

struct Crossing<'a> {
    design: &'a Design,
    shine: &'a Shine,
    /// In ticks.
    second: usize,
}

impl Crossing<'_> {
    /// The last ticks of the old scene, the fade if there is one, and a second of the new.
    fn light(&self, old: &Take, tick: usize, before: usize, new: &Take) -> Vec<Luminance> {
        let shine = |frame: &[Level]| self.shine.of(frame.iter().copied());
        let mut light: Vec<Luminance> = old
            .endless()
            .skip(tick - before)
            .take(before)
            .map(shine)
            .collect();
        let Some(fade) = self.design.firmware.fade else {
            light.extend(new.endless().take(self.second).map(shine));
            return light;
        };
        // As the firmware does it: the master level scales levels, not light.
        let mut master = u16::MAX;
        let dimmed = |frame: &[Level], master: u16| {
            let scale = (master >> 8) + 1;
            let level = |level: &Level| Level((u16::from(level.0) * scale >> 8) as u8);
            self.shine.of(frame.iter().map(level))
        };
        for frame in old.endless().skip(tick) {
            light.push(dimmed(frame, master));
            match master.checked_sub(fade.0) {
                Some(left) if left > 0 => master = left,
                Some(_) | None => break,
            }
        }
        master = 0;
        for frame in new
            .endless()
            .take(self.second + 65_536 / usize::from(fade.0))
        {
            light.push(dimmed(frame, master));
            master = master.saturating_add(fade.0);
        }
        light
    }
}
