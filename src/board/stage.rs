//! What every scene is played and judged with, worked out once.

use super::clock::ClockTruth;
use super::light::{Duties, Shine};
use super::party::Party;
use super::power::Draw;
use super::take::Take;
use crate::circuit::Circuit;
use crate::design::Design;
use crate::units::{Amps, Duty, Luminance, Seconds, Share, Volts};

pub(super) struct Stage<'a> {
    pub design: &'a Design,
    pub circuit: &'a Circuit,
    pub draw: Draw,
    pub duties: Duties,
    /// By channel and level: what it draws, for comparison.
    pub weights: Vec<Vec<f64>>,
    pub shine: Shine,
    /// Strings that are looked at together.
    pub parties: Vec<Party>,
    /// How much faster than nominal the clock can be: flashes are counted then.
    pub hurry: f64,
    /// A tick at that clock.
    pub step: Seconds,
    /// A second at that clock, in ticks, and one more.
    pub second: usize,
}

impl<'a> Stage<'a> {
    pub(super) fn new(design: &'a Design, circuit: &'a Circuit) -> Self {
        let duties = Duties::new(design);
        let hurry = ClockTruth::new(&design.plan).factors()[1];
        let step = Seconds(design.plan.tick.seconds() / hurry);
        Self {
            design,
            circuit,
            draw: Draw::new(&design.project, &design.plan, circuit.volts),
            weights: weights(&duties, circuit),
            shine: Shine::new(&duties, design.scale.top()),
            duties,
            parties: Party::all(&design.project),
            hurry,
            step,
            second: (1.0 / step.0).ceil() as usize + 1,
        }
    }
}

impl Stage<'_> {
    /// What is drawn besides the strings when the supply has come to these volts.
    pub(super) fn draw_at(&self, volts: Volts) -> Draw {
        Draw::new(&self.design.project, &self.design.plan, self.chip_at(volts))
    }

    /// Out of a battery that has come to these volts, with each channel on for this share of the
    /// time.
    pub(super) fn total_at(&self, volts: Volts, on: &[Share]) -> Amps {
        if self.chip_at(volts) == self.circuit.volts {
            return self.draw.total(&self.circuit.flow(on));
        }
        self.draw_at(volts).total(&self.circuit_at(volts).flow(on))
    }

    /// The circuit on a battery that has come to these volts.
    pub(super) fn circuit_at(&self, battery: Volts) -> Circuit {
        let chip = self.chip_at(battery);
        self.circuit.on_supply(chip, &self.design.plan)
    }

    /// Whether the supply comes down with the battery.
    pub(super) fn falls(&self) -> bool {
        let supply = self.design.project.electrics.supply.as_ref();
        supply.is_none_or(|supply| supply.regulator.is_none())
    }

    /// What the chip gets from a battery of these volts: the same for ever behind a regulator.
    fn chip_at(&self, battery: Volts) -> Volts {
        if self.falls() {
            battery
        } else {
            self.circuit.volts
        }
    }

    /// What a take shines with from a tick on, for so many ticks: lights, and for how long each
    /// stays.
    pub(super) fn lights(
        &self,
        take: &Take,
        tick: usize,
        ticks: usize,
    ) -> impl Iterator<Item = (Luminance, usize)> {
        take.stretches_from(tick, ticks).map(|stretch| {
            let light = self.shine.of(stretch.levels.iter().copied());
            (light, stretch.ticks)
        })
    }
}

/// Nothing where nothing is said of a channel's string.
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
