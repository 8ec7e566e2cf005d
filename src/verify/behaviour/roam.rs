//! Roam: another pattern after a random dwell.

use std::collections::BTreeSet;

use super::rig::{Rig, tick};
use super::{Finding, ensure};
use crate::conduct::roaming;
use crate::design::Design;
use crate::firmware::Light;
use crate::spec::Show;
use crate::units::Time;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Setup, Start};

/// Changes to watch on the chip, and for how many seconds at most.
const ON_CHIP: usize = 6;
const PATIENCE: f64 = 120.0;
/// Changes to watch on the model, which is the chip's own arithmetic.
const ON_MODEL: usize = 2_000;

pub(super) fn roam(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(show) = roaming(&design.deck.image) else {
        return Ok(Outcome::NotApplicable("no show roams"));
    };
    let range = Range::of(design);
    let mut bench = match Rig::in_show(setup, show as u8)? {
        Some(rig) => rig.bench,
        None => setup.power_up(&Start::default())?,
    };
    while bench.model.plays_once() {
        bench.next_tick()?;
    }
    let mut chip = Journey::default();
    // At power-up the first pattern is there at once; the next one has to wait until it has dimmed.
    let mut uneven = design.firmware.fade.is_some();
    let end = bench.seconds() + PATIENCE;
    while chip.dwells < ON_CHIP && bench.seconds() < end {
        let started = bench.next_tick()?.started;
        if let Some(started) = started.filter(|_| !std::mem::take(&mut uneven)) {
            chip.arrive(started.scene, bench.machine.seconds(started.at.0));
        }
    }
    let model = on_model(design, &mut bench);
    for (who, journey) in [("chip", &chip), ("model", &model)] {
        ensure(journey.repeats == 0, || {
            format!(
                "on the {who} a pattern follows itself {} times",
                journey.repeats
            )
        })?;
        ensure(journey.dwells == 0 || range.holds(journey), || {
            format!(
                "on the {who} dwells last {:.3} to {:.3} s; asked for: {:.3} to {:.3} s",
                journey.shortest, journey.longest, range.low, range.high
            )
        })?;
    }
    let count = usize::from(design.deck.image.score.shows[show].count);
    ensure(model.seen.len() == count, || {
        format!("only {} of {count} patterns ever play", model.seen.len())
    })?;
    let on_chip = match chip.dwells {
        0 => format!("no change within {PATIENCE:.0} s on the chip"),
        n => format!(
            "{n} on the chip, {:.2} to {:.2} s",
            chip.shortest, chip.longest
        ),
    };
    Ok(Outcome::Holds(format!(
        "{} dwells of {:.2} to {:.2} s on the model; {on_chip}",
        model.dwells, model.shortest, model.longest
    )))
}

/// Goes on in the model, with the button up and without light.
fn on_model(design: &Design, bench: &mut Bench) -> Journey {
    let mut light: Light = bench.model.clone();
    let mut journey = Journey::default();
    let mut ticks = 0_u64;
    let mut uneven = false;
    while journey.dwells < ON_MODEL {
        ticks += 1;
        let started = light.turn(false).started;
        if light.is_off() {
            // An evening begins as power does, with what was on before.
            journey.last = None;
            uneven = design.firmware.fade.is_some();
        } else if let Some(scene) = started.filter(|_| !std::mem::take(&mut uneven)) {
            journey.arrive(scene, ticks as f64 * tick(design));
        }
    }
    journey
}

/// What the project asks for, in seconds, and how far off the firmware's beat may be.
struct Range {
    low: f64,
    high: f64,
    slack: f64,
}

impl Range {
    fn of(design: &Design) -> Self {
        let dwell = design
            .project
            .shows
            .iter()
            .find_map(|show| match show.value {
                Show::Roam { dwell, .. } => Some(dwell),
                _ => None,
            });
        let (low, high) = dwell.unwrap_or((Time(0), Time(0)));
        let beat = f64::from(design.firmware.beats.ticks) * tick(design);
        // A beat is the firmware's unit: a range that holds no whole one gets the next.
        let narrow = high.seconds() - low.seconds() < 2.0 * beat;
        Self {
            low: low.seconds(),
            high: high.seconds(),
            slack: tick(design) + if narrow { 2.0 * beat } else { 0.0 },
        }
    }

    fn holds(&self, journey: &Journey) -> bool {
        journey.shortest >= self.low - self.slack && journey.longest <= self.high + self.slack
    }
}

/// The scenes that were played, one after the other.
struct Journey {
    last: Option<(usize, f64)>,
    seen: BTreeSet<usize>,
    dwells: usize,
    repeats: usize,
    shortest: f64,
    longest: f64,
}

impl Default for Journey {
    fn default() -> Self {
        Self {
            last: None,
            seen: BTreeSet::new(),
            dwells: 0,
            repeats: 0,
            shortest: f64::INFINITY,
            longest: 0.0,
        }
    }
}

impl Journey {
    fn arrive(&mut self, scene: usize, at: f64) {
        if let Some((before, since)) = self.last {
            self.dwells += 1;
            self.repeats += usize::from(before == scene);
            self.shortest = self.shortest.min(at - since);
            self.longest = self.longest.max(at - since);
        }
        self.seen.insert(scene);
        self.last = Some((scene, at));
    }
}
