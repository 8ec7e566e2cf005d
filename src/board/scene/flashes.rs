//! Whether a scene flashes.

use serde::Serialize;

use super::{Heard, stretches};
use crate::board::flash::{Busiest, Luminances, Remedy};
use crate::board::stage::Stage;
use crate::circuit::root;
use crate::units::{Luminance, Seconds, Share};

/// Whether a scene flashes, counted with the clock at its fastest; moments are nominal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SceneFlashes {
    pub worst: Busiest,
    /// Which strings these are, in words.
    pub of: String,
    /// Others that flash more than three times in a second.
    pub likewise: Vec<String>,
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

pub(super) fn flashes(stage: &Stage, scene: usize, heard: &[Heard]) -> SceneFlashes {
    // The first of equals.
    let worst = heard
        .iter()
        .reduce(|worst, one| {
            if one.worst().1.flashes > worst.worst().1.flashes {
                one
            } else {
                worst
            }
        })
        .expect("a scene has a take");
    let (of, busiest) = worst.worst();
    let remedy = || {
        let party = &stage.parties[of];
        let light: Vec<Luminance> = stretches(stage, scene, &worst.take)
            .flat_map(|stretch| {
                let of_one = |channel| stage.shine.of_one(channel, stretch.levels[channel]);
                let light = party.light(of_one);
                std::iter::repeat_n(light, stretch.ticks)
            })
            .collect();
        let course = Luminances {
            step: stage.step,
            light: &light,
        };
        course.remedy()
    };
    let failing = heard.iter().filter(|heard| !heard.passes()).count();
    let nominal = Seconds(busiest.at.0 * stage.hurry);
    let fails = |party: &usize| heard.iter().any(|heard| !heard.busiest[*party].passes);
    let others = (0..stage.parties.len()).filter(|party| *party != of && fails(party));
    SceneFlashes {
        worst: Busiest {
            at: nominal,
            ..busiest
        },
        of: stage.parties[of].name.clone(),
        likewise: others
            .map(|party| stage.parties[party].name.clone())
            .collect(),
        failing,
        takes: heard.len(),
        at_most: match heard {
            [_] => Share(failing as f64),
            _ => at_most(failing, heard.len()),
        },
        remedy: if busiest.passes { None } else { remedy() },
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
    if found == tries {
        return Share(1.0);
    }
    Share(root::between(0.0, 1.0, |share| {
        chance_of_so_few(share) - 0.05
    }))
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
