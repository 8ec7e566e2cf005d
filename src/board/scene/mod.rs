//! What each scene draws and whether it flashes, from the model.

mod currents;
mod flashes;

use rayon::prelude::*;
use serde::Serialize;

use super::flash::{Busiest, Watch};
use super::stage::Stage;
use super::take::{self, Take};
use super::tally::Tally;
use crate::units::{Luminance, Seconds, Share};

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
}

/// A recording, and what it comes to.
struct Heard {
    take: Take,
    tally: Tally,
    /// Its second with the most flashes.
    busiest: Busiest,
}

impl Heard {
    /// Recording `number` of a scene.
    fn new(stage: &Stage, scene: usize, number: usize) -> Self {
        let take = take::take(stage.design, scene, number);
        let tally = Tally::new(&take, &stage.weights);
        let mut watch = Watch::new(stage.step);
        for (light, ticks) in light(stage, scene, &take) {
            watch.see_for(light, ticks);
        }
        let busiest = watch.busiest();
        Self {
            take,
            tally,
            busiest,
        }
    }
}

/// The light of a take, and for how many ticks it stays: once round, and a second more, for what
/// straddles the seam.
fn light(stage: &Stage, scene: usize, take: &Take) -> impl Iterator<Item = (Luminance, usize)> {
    let ticks = take.ticks() + if take.loops() { stage.second } else { 0 };
    // A steady level does not flash; that it comes on is of the change to it.
    let scenes = &stage.design.deck.image.score.scenes;
    let steady = scenes[scene].steady_level().is_some();
    let from = if steady { take.loop_start } else { 0 };
    stage.lights(take, from, ticks)
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
        }
    }
}

fn average(means: &[Vec<Share>]) -> Vec<Share> {
    let count = means.len() as f64;
    (0..means[0].len())
        .map(|channel| Share(means.iter().map(|mean| mean[channel].0).sum::<f64>() / count))
        .collect()
}
