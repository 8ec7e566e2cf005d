//! An NPN's base: its resistor, and what flows through it.

use serde::Serialize;

use super::lamp::part;
use super::preferred::capacitor;
use super::string::Feed;
use super::switch::{Part, speed_up};
use crate::spec::{Drive, LedString, Series};
use crate::units::{Amps, Farads, Ohms, Volts};

/// Base to emitter of a saturated small transistor (common practice, no source).
pub(super) const BASE_EMITTER: Volts = Volts(0.7);

/// An NPN's base.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Base {
    pub resistor: Ohms,
    pub current: Amps,
    /// Across the resistor.
    pub speed_up: Option<Farads>,
    /// The resistor is within the part.
    pub built_in: bool,
}

impl Base {
    pub(super) fn of(string: &LedString, wanted: Amps, feed: Feed) -> Self {
        let plain = Self::new(wanted, feed, string.series);
        let Some(part) = part(string).and_then(Part::bipolar) else {
            return plain;
        };
        if part.built_in.0 > 0.0 {
            let over = feed.logic.0 - part.junctions * BASE_EMITTER.0;
            return Self {
                resistor: part.built_in,
                current: Amps((over / (part.built_in.0 + feed.pin.0)).max(0.0)),
                speed_up: None,
                built_in: true,
            };
        }
        let speed_up = (string.drive.value == Drive::SpeedUp)
            .then(|| capacitor(speed_up(&part, plain.resistor)));
        Self { speed_up, ..plain }
    }

    fn new(wanted: Amps, feed: Feed, series: Series) -> Self {
        let over = feed.logic.0 - BASE_EMITTER.0;
        let resistor = series.at_most(Ohms(over / wanted.0.max(1e-9) - feed.pin.0));
        Self {
            resistor,
            current: Amps(over / (resistor.0 + feed.pin.0)),
            speed_up: None,
            built_in: false,
        }
    }
}
