//! What each show draws, and how long a battery lasts on it.

use serde::Serialize;

use super::power::life;
use super::scene::SceneReport;
use crate::score::{ShowKind, ShowRange};
use crate::spec::Battery;
use crate::units::{Amps, Seconds};

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
    pub fn new(
        show: &ShowRange,
        scenes: &[SceneReport],
        battery: Option<&Battery>,
    ) -> Option<Self> {
        let scenes = &scenes[show.scenes()];
        let totals: Vec<(f64, &str)> = scenes
            .iter()
            .map(|scene| Some((scene.currents.as_ref()?.total.0, scene.name.as_str())))
            .collect::<Option<_>>()?;
        let order = |a: &&(f64, &str), b: &&(f64, &str)| a.0.total_cmp(&b.0);
        let (least, most) = (totals.iter().min_by(order)?, totals.iter().max_by(order)?);
        let mean = totals.iter().map(|(total, _)| total).sum::<f64>() / totals.len() as f64;
        // What a light that roams draws over a night is its mean.
        let ends = match show.kind {
            ShowKind::Roam => [mean, mean],
            ShowKind::Steady | ShowKind::Solo => [most.0, least.0],
        };
        Some(Self {
            kind: show.kind,
            least: Amps(least.0),
            mean: Amps(mean),
            most: Amps(most.0),
            hungriest: most.1.to_string(),
            life: battery.map(|battery| ends.map(|total| life(battery, Amps(total)))),
        })
    }
}
