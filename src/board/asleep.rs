//! What the board draws in standby, with the chip powered down and all strings dark.

use serde::Serialize;

use super::power::life;
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::{Amps, Seconds};

/// The currents of standby.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Asleep {
    /// The chip itself, at most; its datasheet's figure for 3 V.
    pub chip: Amps,
    /// Its brown-out detector, typically; zero where it is off or sleeps too.
    pub detector: Amps,
    /// What the regulator takes, and what else is on the supply.
    pub others: Amps,
    /// How long the battery would last so.
    pub life: Option<Seconds>,
    /// …without the detector, where that goes on.
    pub life_without_detector: Option<Seconds>,
}

/// A month, in seconds; and how long cells keep, whatever is drawn (alkaline ones, by their makers; from memory).
const MONTH: f64 = 365.25 / 12.0 * 86_400.0;
const KEPT: f64 = 120.0 * MONTH;

impl Asleep {
    /// `None`: it is never off while it has power.
    pub(super) fn new(design: &Design) -> Option<Self> {
        let standby = design.plan.standby.as_ref()?;
        let figures = &design.plan.chip.electrical.power_down;
        let electrics = &design.project.electrics;
        let supply = electrics.supply.as_ref();
        let regulator = supply.and_then(|supply| supply.regulator.as_ref());
        let quiescent = regulator.map_or(0.0, |regulator| regulator.quiescent.0);
        let watches = f64::from(u8::from(standby.watches_supply));
        let mut asleep = Self {
            chip: figures.still,
            detector: Amps(watches * figures.brown_out.0),
            others: Amps(quiescent + supply.map_or(0.0, |supply| supply.other.0)),
            life: None,
            life_without_detector: None,
        };
        if let Some(battery) = &electrics.battery {
            let lasts = |current: f64| Seconds(life(battery, |_| Amps(current)).0.min(KEPT));
            let all = asleep.total().0;
            asleep.life = Some(lasts(all));
            asleep.life_without_detector =
                (asleep.detector.0 > 0.0).then(|| lasts(all - asleep.detector.0));
        }
        Some(asleep)
    }

    pub fn total(&self) -> Amps {
        Amps(self.chip.0 + self.detector.0 + self.others.0)
    }

    pub(super) fn rows(&self, design: &Design) -> Vec<Row> {
        let row = |name, figure, note: String| {
            Row::judged(name, figure, Limit::None, 1.0, Source::Estimated, note)
        };
        let current = row(
            ("standby", "current in standby"),
            Quantity::Amps(self.total()),
            self.shares(design),
        );
        let life = self.life.map(|life| {
            let note = match self.life_without_detector {
                Some(without) => format!(
                    "{} months; without the brown-out detector {}, but then cells that run down may garble \
                     what the chip remembers",
                    months(life),
                    months(without)
                ),
                None if life.0 >= KEPT => "some ten years, for which cells keep at most".to_string(),
                None => format!("{} months", months(life)),
            };
            let name = ("battery-standby", "battery, in standby");
            row(name, Quantity::Seconds(life), note)
        });
        [current].into_iter().chain(life).collect()
    }

    /// What of the current is whose.
    fn shares(&self, design: &Design) -> String {
        let mut shares = vec![format!("at most {} of it the chip's", self.chip)];
        if self.detector.0 > 0.0 {
            shares.push(format!("{} its brown-out detector's", self.detector));
        } else if design.plan.brown_out.is_some() {
            shares.push("its brown-out detector sleeps too".to_string());
        }
        if self.others.0 > 0.0 {
            shares.push(format!("{} of what else is on the supply", self.others));
        }
        shares.join(", ")
    }
}

fn months(life: Seconds) -> String {
    format!("{:.0}", life.0 / MONTH)
}
