//! What each scene draws and whether it flashes, from the model.

use serde::Serialize;

use super::circuit::{Circuit, Flow};
use super::clock::ClockTruth;
use super::flash::{Busiest, Course, Remedy, Watch};
use super::light::{Duties, Shine};
use super::power::Draw;
use super::side_by_side::side_by_side;
use super::take::{self, Take};
use super::tally::Tally;
use crate::design::Design;
use crate::score::Origin;
use crate::units::{Amps, Duty, Seconds, Share};

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

/// Whether a scene flashes, counted with the clock at its fastest; moments are nominal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SceneFlashes {
    pub worst: Busiest,
    /// Takes with more than three flashes in some second…
    pub failing: usize,
    /// …of so many.
    pub takes: usize,
    /// Of all minutes that could be played, no more than this share fails, with 95 % confidence;
    /// all or none, without draws.
    pub at_most: Share,
    /// What would make the worst take pass.
    pub remedy: Option<Remedy>,
}

impl SceneReport {
    pub fn new(
        design: &Design,
        scene: usize,
        circuit: &Circuit,
        draw: &Draw,
        shine: &Shine,
    ) -> (Self, Vec<Take>) {
        let duties = Duties::new(design);
        let weights = weights(&duties, circuit);
        let random = take::draws(design, scene);
        let (takes, tallies): (Vec<Take>, Vec<Tally>) =
            side_by_side(take::count(design, scene), |number| {
                let take = take::take(design, scene, number);
                let tally = Tally::new(&take, &weights);
                (take, tally)
            })
            .into_iter()
            .unzip();
        let tick = design.plan.tick.seconds();
        let period = takes[0]
            .loops()
            .then(|| Seconds((takes[0].ticks() - takes[0].loop_start) as f64 * tick));
        let means: Vec<Vec<Share>> = tallies
            .iter()
            .map(|tally| tally.on_shares(&duties, design))
            .collect();
        let report = Self {
            name: design.deck.image.score.scenes[scene].name.clone(),
            random,
            period,
            constant: takes[0].loops() && takes[0].ticks() - takes[0].loop_start == 1,
            on: average(&means),
            currents: circuit
                .is_known()
                .then(|| currents(design, &takes, &tallies, &means, &duties, circuit, draw)),
            flashes: flashes(design, scene, &takes, shine),
        };
        (report, takes)
    }
}

fn average(means: &[Vec<Share>]) -> Vec<Share> {
    let count = means.len() as f64;
    (0..means[0].len())
        .map(|channel| Share(means.iter().map(|mean| mean[channel].0).sum::<f64>() / count))
        .collect()
}

fn currents(
    design: &Design,
    takes: &[Take],
    tallies: &[Tally],
    means: &[Vec<Share>],
    duties: &Duties,
    circuit: &Circuit,
    draw: &Draw,
) -> SceneCurrents {
    let totals: Vec<f64> = means
        .iter()
        .map(|shares| draw.total(&circuit.flow(shares)).0)
        .collect();
    let mean = circuit.flow(&average(means));
    let (take, most) = takes
        .iter()
        .zip(tallies.iter().map(Tally::most))
        .reduce(|most, one| if one.1.0 > most.1.0 { one } else { most })
        .expect("a scene has a take");
    let tick = most.1;
    let frame = take.frame(tick);
    let shares: Vec<Share> = frame
        .iter()
        .enumerate()
        .map(|(channel, &level)| duties.of(channel, level).on_share(design.plan.pwm.whole))
        .collect();
    let peak = circuit.flow(&shares);
    let pins: Vec<Amps> = circuit
        .strings
        .iter()
        .map(|hung| hung.as_ref().map_or(Amps(0.0), |hung| hung.string.pin))
        .collect();
    // In every period all channels that are lit are on together at its end.
    let together = tallies
        .iter()
        .flat_map(|tally| tally.lit_together())
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
        peak_at: Seconds(tick as f64 * design.plan.tick.seconds()),
        pins,
        pins_together: Amps(together),
    }
}

/// What each channel draws at each level, for comparison; nothing where nothing is said of its string.
fn weights(duties: &Duties, circuit: &Circuit) -> Vec<Vec<f64>> {
    let strings = circuit.strings.iter().map(Option::as_ref);
    let weights = strings
        .map(|hung| hung.map_or(0.0, |hung| hung.string.at(hung.volts).0))
        .chain(std::iter::repeat(0.0));
    let drawn = |(duties, weight): (&[Duty], f64)| -> Vec<f64> {
        duties
            .iter()
            .map(|duty| f64::from(duty.0) * weight)
            .collect()
    };
    duties.channels().zip(weights).map(drawn).collect()
}

fn flashes(design: &Design, scene: usize, takes: &[Take], shine: &Shine) -> SceneFlashes {
    // A steady level does not flash; that it comes on is of the change to it.
    let steady = matches!(
        design.deck.image.score.scenes[scene].origin,
        Origin::Steady(_)
    );
    let hurry = ClockTruth::new(&design.plan).factors()[1];
    let step = Seconds(design.plan.tick.seconds() / hurry);
    let second = (1.0 / step.0).ceil() as usize + 1;
    let mut worst: Option<(Busiest, Option<Remedy>)> = None;
    let mut failing = 0;
    for take in takes {
        // Once round, and a second more, for what straddles the seam.
        let ticks = take.ticks() + if take.loops() { second } else { 0 };
        let light = || {
            take.endless()
                .skip(if steady { take.loop_start } else { 0 })
                .take(ticks)
                .map(|frame| shine.of(frame.iter().copied()))
        };
        let mut watch = Watch::new(step);
        light().for_each(|light| watch.see(light));
        let busiest = watch.busiest();
        failing += usize::from(!busiest.passes);
        if worst.is_none_or(|(known, _)| busiest.flashes > known.flashes) {
            let remedy = (!busiest.passes)
                .then(|| light().collect::<Vec<_>>())
                .and_then(|light| {
                    Course {
                        step,
                        light: &light,
                    }
                    .remedy()
                });
            worst = Some((busiest, remedy));
        }
    }
    let (mut worst, remedy) = worst.expect("a scene has a take");
    worst.at.0 *= hurry;
    SceneFlashes {
        worst,
        failing,
        takes: takes.len(),
        at_most: match takes {
            [_] => Share(failing as f64),
            _ => at_most(failing, takes.len()),
        },
        remedy,
    }
}

/// The upper end of the one-sided 95 % interval for a share that came up in `found` of `tries`:
/// C. J. Clopper and E. S. Pearson, Biometrika 26, 1934.
fn at_most(found: usize, tries: usize) -> Share {
    let chance_of_so_few = |share: f64| {
        let mut term = (1.0 - share).powi(tries as i32);
        let mut sum = term;
        for k in 0..found {
            term *= (tries - k) as f64 / (k + 1) as f64 * share / (1.0 - share);
            sum += term;
        }
        sum
    };
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..50 {
        let middle = f64::midpoint(low, high);
        if found < tries && chance_of_so_few(middle) > 0.05 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Share(if found < tries { high } else { 1.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// None in n: 1 - 0.05^(1/n). Others from tables of the binomial distribution: 1 of 10 is 0.394,
    /// 3 of 10 is 0.607, 5 of 20 is 0.456 (from memory, and worked anew).
    #[test]
    fn upper_ends_are_those_of_the_tables() {
        for (found, tries, upper) in [
            (0, 32, 1.0 - 0.05_f64.powf(1.0 / 32.0)),
            (0, 10, 0.2589),
            (1, 10, 0.3942),
            (3, 10, 0.6066),
            (5, 20, 0.4556),
            (32, 32, 1.0),
        ] {
            let share = at_most(found, tries).0;
            assert!((share - upper).abs() < 5e-4, "{found} of {tries}: {share}");
        }
    }
}
