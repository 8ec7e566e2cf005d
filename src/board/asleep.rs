//! What the board draws in standby and at night, with the chip powered down and all strings dark.

use serde::Serialize;

use super::power::life;
use crate::circuit::measured_current;
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::{Amps, Seconds};

/// The currents of a sleep.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Asleep {
    /// The chip itself, at most; its datasheet's figure for 3 V.
    pub chip: Amps,
    /// Its watchdog, at most; zero in standby, where it is off.
    pub watchdog: Amps,
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
pub(super) const MONTH: f64 = 365.25 / 12.0 * 86_400.0;
pub(super) const KEPT: f64 = 120.0 * MONTH;

/// What speaks against a sleep without the detector.
pub(super) const GARBLED: &str =
    ", but then cells that run down may garble what the chip remembers";

impl Asleep {
    /// In standby. `None`: there is none.
    pub(super) fn standby(design: &Design) -> Option<Self> {
        design.firmware.rules.stands_by().then_some(())?;
        Self::new(design, Amps(0.0))
    }

    /// At night, with the watchdog counting. `None`: there are no evenings.
    pub(super) fn night(design: &Design) -> Option<Self> {
        design.firmware.has_nights().then_some(())?;
        Self::new(design, design.plan.chip.electrical.power_down.watchdog)
    }

    /// Once cells are spent. `None`: nobody looks after them.
    pub(super) fn for_good(design: &Design) -> Option<Self> {
        design.firmware.cells?;
        Self::new(design, Amps(0.0))
    }

    fn new(design: &Design, watchdog: Amps) -> Option<Self> {
        let power_down = design.plan.power_down.as_ref()?;
        let figures = &design.plan.chip.electrical.power_down;
        let electrics = &design.project.electrics;
        let supply = electrics.supply.as_ref();
        let regulator = supply.and_then(|supply| supply.regulator.as_ref());
        let quiescent = regulator.map_or(0.0, |regulator| regulator.quiescent.0);
        let measured = measured_current(&design.project, design.circuit.volts);
        let watches = f64::from(u8::from(power_down.watches_supply));
        let mut asleep = Self {
            chip: figures.still,
            watchdog,
            detector: Amps(watches * figures.brown_out.0),
            others: Amps(quiescent + supply.map_or(0.0, |supply| supply.other.0) + measured.0),
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
        Amps(self.chip.0 + self.watchdog.0 + self.detector.0 + self.others.0)
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
                    "{} months; without the brown-out detector {}{GARBLED}",
                    months(life),
                    months(without)
                ),
                None if life.0 >= KEPT => {
                    "some ten years, for which cells keep at most".to_string()
                }
                None => format!("{} months", months(life)),
            };
            let name = ("battery-standby", "battery, in standby");
            row(name, Quantity::Seconds(life), note)
        });
        [current].into_iter().chain(life).collect()
    }

    /// What of the current is whose.
    pub(super) fn shares(&self, design: &Design) -> String {
        let mut shares = vec![format!("at most {} of it the chip's", self.chip)];
        if self.watchdog.0 > 0.0 {
            shares.push(format!("{} its watchdog's", self.watchdog));
        }
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

pub(super) fn months(life: Seconds) -> String {
    format!("{:.0}", life.0 / MONTH)
}
