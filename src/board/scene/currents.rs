//! What a scene draws, on average and at most.

use serde::Serialize;

use super::Heard;
use crate::board::stage::Stage;
use crate::circuit::Flow;
use crate::units::{Amps, Seconds, Share};

/// What a scene draws.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SceneCurrents {
    /// On average.
    pub mean: Flow,
    /// On average, all in all.
    pub total: Amps,
    /// Of the seeds' averages, the least and the most.
    pub spread: [Amps; 2],
    /// All in all, in the PWM period with the most light.
    pub peak: Amps,
    /// Of that, what comes out of the supply.
    pub supply_peak: Amps,
    pub peak_at: Seconds,
    /// Through each channel's pin, while on.
    pub pins: Vec<Amps>,
    /// The most through all pins at one instant.
    pub pins_together: Amps,
}

/// `means` are the shares of the time for which each channel is on, take by take; `on` those of all.
pub(super) fn currents(
    stage: &Stage,
    heard: &[Heard],
    means: &[Vec<Share>],
    on: &[Share],
) -> SceneCurrents {
    let (circuit, draw) = (stage.circuit, &stage.draw);
    let totals: Vec<f64> = means
        .iter()
        .map(|shares| draw.total(&circuit.flow(shares)).0)
        .collect();
    let mean = circuit.flow(on);
    let (take, most) = heard
        .iter()
        .map(|heard| (&heard.take, heard.tally.most()))
        .reduce(|most, one| if one.1.0 > most.1.0 { one } else { most })
        .expect("a scene has a take");
    let tick = most.1;
    let frame = take.levels_at(tick);
    let shares: Vec<Share> = frame
        .iter()
        .enumerate()
        .map(|(channel, &level)| {
            stage
                .duties
                .of(channel, level)
                .on_share(stage.design.plan.drive.whole(channel))
        })
        .collect();
    let peak = circuit.flow(&shares);
    let pins: Vec<Amps> = circuit
        .strings
        .iter()
        .map(|hung| hung.as_ref().map_or(Amps(0.0), |hung| hung.string.pin))
        .collect();
    // In every period all channels that are lit are on together at its end.
    let together = heard
        .iter()
        .flat_map(|heard| heard.tally.lit_together())
        .map(|lit| lit.map(|channel| pins[channel].0).sum::<f64>())
        .fold(0.0, f64::max);
    SceneCurrents {
        total: draw.total(&mean),
        spread: [
            Amps(totals.iter().copied().fold(f64::INFINITY, f64::min)),
            Amps(totals.iter().copied().fold(0.0, f64::max)),
        ],
        mean,
        peak: draw.total(&peak),
        supply_peak: draw.supply(&peak),
        peak_at: Seconds(tick as f64 * stage.design.plan.tick.seconds()),
        pins,
        pins_together: Amps(together),
    }
}
