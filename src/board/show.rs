//! What each show draws, and how long a battery lasts on it.

use serde::Serialize;

use super::power::life;
use super::scene::SceneReport;
use super::stage::Stage;
use crate::score::{ShowKind, ShowRange};
use crate::units::{Amps, Seconds, Share, Volts};

/// A show's currents.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShowReport {
    pub kind: ShowKind,
    /// Out of whatever feeds the board, on average: of the scene that draws the least, …
    pub least: Amps,
    /// … of all, each as often (a roaming light spends as long in each, on average), …
    pub mean: Amps,
    /// … and of the one that draws the most.
    pub most: Amps,
    pub hungriest: String,
    /// How long the battery lasts, on the most and on the least.
    pub life: Option<[Seconds; 2]>,
}

impl ShowReport {
    /// `None`: nothing is said of the strings.
    pub(super) fn new(show: &ShowRange, scenes: &[SceneReport], stage: &Stage) -> Option<Self> {
        let scenes = &scenes[show.scenes()];
        let totals: Vec<(f64, &str)> = scenes
            .iter()
            .map(|scene| Some((scene.currents.as_ref()?.total.0, scene.name.as_str())))
            .collect::<Option<_>>()?;
        let order = |a: &&(f64, &str), b: &&(f64, &str)| a.0.total_cmp(&b.0);
        let (least, most) = (totals.iter().min_by(order)?, totals.iter().max_by(order)?);
        let mean = totals.iter().map(|(total, _)| total).sum::<f64>() / totals.len() as f64;
        let of = |name: &str| {
            let scene = scenes.iter().find(|scene| scene.name == name);
            scene.expect("it is of this show").on.clone()
        };
        // What a light that roams draws over a night is its mean.
        let ends = match show.kind {
            ShowKind::Roam => [(mean, average(scenes)), (mean, average(scenes))],
            ShowKind::Steady | ShowKind::Solo => [(most.0, of(most.1)), (least.0, of(least.1))],
        };
        let battery = stage.design.project.electrics.battery.as_ref();
        let life = battery.map(|battery| {
            let mut ends = ends.map(|(total, on)| {
                let nominal = stage.total_at(stage.circuit.volts, &on).0;
                let share = total / nominal;
                life(battery, |volts: Volts| {
                    Amps(stage.total_at(volts, &on).0 * share)
                })
            });
            ends.sort_by(|a, b| a.0.total_cmp(&b.0));
            ends
        });
        Some(Self {
            kind: show.kind,
            least: Amps(least.0),
            mean: Amps(mean),
            most: Amps(most.0),
            hungriest: most.1.to_string(),
            life,
        })
    }
}

/// Each channel's share of the time, each scene counting alike.
fn average(scenes: &[SceneReport]) -> Vec<Share> {
    let channels = scenes.first().map_or(0, |scene| scene.on.len());
    let mean = |channel: usize| scenes.iter().map(|scene| scene.on[channel].0).sum::<f64>();
    (0..channels)
        .map(|channel| Share(mean(channel) / scenes.len() as f64))
        .collect()
}
