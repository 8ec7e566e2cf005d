//! What each scene draws and whether it flashes, from the model.

mod currents;
mod flashes;

use rayon::prelude::*;
use serde::Serialize;

use super::clock::ClockTruth;
use super::flash::Busiest;
use super::light::{Glow, ones};
use super::party::Watches;
use super::stage::Stage;
use super::take::{self, Stretch, Take};
use super::tally::Tally;
use super::wobble::{Follower, Wobble};
use crate::spec::Flashing;
use crate::units::{Seconds, Share};

pub use currents::SceneCurrents;
pub use flashes::SceneFlashes;

/// A pattern, or a steady level.
#[derive(Debug, Clone, Serialize)]
pub struct SceneReport {
    pub name: String,
    /// It draws on the chip: figures are means over [`take::SEEDS`] seeds of a minute each.
    pub random: bool,
    /// How long its loop is; `None`: random, or longer than was listened to.
    pub period: Option<Seconds>,
    /// It ends up at one level, for ever.
    pub constant: bool,
    /// Of the time, how long each channel is on.
    pub on: Vec<Share>,
    /// `None`: nothing is said of the strings.
    pub currents: Option<SceneCurrents>,
    pub flashes: SceneFlashes,
    /// The project, or the pattern, accepts that it flashes.
    pub accepted: bool,
    /// What moves to and fro too fast to be seen; `None`: nothing does.
    pub wobble: Option<Wobble>,
}

/// A recording, and what it comes to.
struct Heard {
    take: Take,
    tally: Tally,
    /// By party: its second with the most flashes.
    busiest: Vec<Busiest>,
    wobble: Option<Wobble>,
}

impl Heard {
    /// Recording `number` of a scene.
    fn new(stage: &Stage, scene: usize, number: usize) -> Self {
        let take = take::take(stage.design, scene, number);
        let tally = Tally::new(&take, &stage.weights);
        let mut watches = Watches::new(&stage.parties, stage.step);
        // Flicker is judged with the clock at its slowest.
        let slow = ClockTruth::new(&stage.design.plan).factors()[0];
        let step = Seconds(stage.design.plan.tick.seconds() / slow);
        let channels = stage.design.project.channels.len();
        let mut followers = vec![Follower::new(step); channels];
        let mut glow = Glow::new(&stage.shine);
        for Stretch { start, levels, .. } in stretches(stage, scene, &take) {
            let moved = glow.move_to(levels);
            watches.see(start, moved, glow.lights());
            for channel in ones(moved) {
                followers[channel].see(start, glow.lights()[channel]);
            }
        }
        let tick = stage.design.plan.tick.seconds();
        let wobble = |(channel, follower): (usize, &Follower)| {
            let (at, component) = follower.worst()?;
            Some(Wobble {
                channel,
                at: Seconds(at as f64 * tick),
                risk: component.risk(),
                component,
            })
        };
        let wobbles = followers.iter().enumerate().filter_map(wobble);
        let wobble = wobbles.reduce(worse);
        let busiest = watches.busiest();
        Self {
            take,
            tally,
            busiest,
            wobble,
        }
    }

    /// The party that flashes most, the first of equals, and its second.
    fn worst(&self) -> (usize, Busiest) {
        let all = self.busiest.iter().copied().enumerate();
        all.reduce(|most, one| {
            if one.1.flashes > most.1.flashes {
                one
            } else {
                most
            }
        })
        .expect("a project has a string")
    }

    fn passes(&self) -> bool {
        self.busiest.iter().all(|busiest| busiest.passes)
    }
}

/// The more harmful of two, the first of equals.
fn worse(one: Wobble, other: Wobble) -> Wobble {
    if other.component.by_harm(&one.component).is_gt() {
        other
    } else {
        one
    }
}

/// What a take plays: once round, and a second more, for what straddles the seam.
fn stretches<'a>(stage: &Stage, scene: usize, take: &'a Take) -> impl Iterator<Item = Stretch<'a>> {
    let ticks = take.ticks() + if take.loops() { stage.second } else { 0 };
    // A steady level does not flash; that it comes on is of the change to it.
    let scenes = &stage.design.deck.image.score.scenes;
    let steady = scenes[scene].steady_level().is_some();
    let from = if steady { take.loop_start } else { 0 };
    take.stretches_from(from, ticks)
}

/// All scenes, each with its first take. As many recordings are made at a time as the machine can.
pub(super) fn scenes(stage: &Stage) -> Vec<(SceneReport, Take)> {
    let count = |scene| take::count(stage.design, scene);
    let scenes = 0..stage.design.deck.image.score.scenes.len();
    let jobs: Vec<(usize, usize)> = scenes
        .clone()
        .flat_map(|scene| (0..count(scene)).map(move |number| (scene, number)))
        .collect();
    let heard: Vec<Heard> = jobs
        .into_par_iter()
        .map(|(scene, number)| Heard::new(stage, scene, number))
        .collect();
    let mut heard = heard.into_iter();
    scenes
        .map(|scene| {
            let heard: Vec<Heard> = heard.by_ref().take(count(scene)).collect();
            let report = SceneReport::new(stage, scene, &heard);
            let first = heard.into_iter().next().expect("a scene has a take");
            (report, first.take)
        })
        .collect()
}

impl SceneReport {
    fn new(stage: &Stage, scene: usize, heard: &[Heard]) -> Self {
        let score = &stage.design.deck.image.score;
        let first = &heard[0].take;
        let period = first.ticks() - first.loop_start;
        let means: Vec<Vec<Share>> = heard
            .iter()
            .map(|heard| heard.tally.on_shares(&stage.duties, stage.design))
            .collect();
        let on = average(&means);
        let tick = stage.design.plan.tick.seconds();
        Self {
            name: score.scenes[scene].name.clone(),
            random: score.draws(scene),
            period: first.loops().then_some(Seconds(period as f64 * tick)),
            constant: period == 1,
            currents: stage
                .circuit
                .is_known()
                .then(|| currents::currents(stage, heard, &means, &on)),
            on,
            flashes: flashes::flashes(stage, scene, heard),
            accepted: stage.design.project.flashing_of(&score.scenes[scene].name)
                == Flashing::Accepted,
            wobble: heard.iter().filter_map(|heard| heard.wobble).reduce(worse),
        }
    }
}

fn average(means: &[Vec<Share>]) -> Vec<Share> {
    let count = means.len() as f64;
    (0..means[0].len())
        .map(|channel| Share(means.iter().map(|mean| mean[channel].0).sum::<f64>() / count))
        .collect()
}
