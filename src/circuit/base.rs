//! An NPN's base: its resistor, and what flows through it.

use serde::Serialize;

use super::preferred::capacitor;
use super::sink::Sink;
use super::string::Feed;
use super::switch::{Device, speed_up};
use super::transistor::part;
use crate::spec::{LedString, SwitchDrive};
use crate::units::{Amps, Farads, Ohms, Volts};

/// Base to emitter of a saturated small transistor (common practice, no source).
const BASE_EMITTER: Volts = Volts(0.7);

/// An NPN's base.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Base {
    /// Of a sink: the divider's upper one.
    pub resistor: Ohms,
    pub current: Amps,
    /// Across the resistor.
    pub speed_up: Option<Farads>,
    /// The resistor is within the part.
    pub built_in: bool,
    /// From base to ground, while the string is lit; a Darlington has it twice.
    #[serde(skip)]
    drop: Volts,
}

impl Base {
    pub(super) fn of(string: &LedString, wanted: Amps, feed: Feed) -> Self {
        let part = part(string).and_then(Device::bipolar);
        let drop = Volts(BASE_EMITTER.0 * part.map_or(1.0, |part| part.junctions));
        let built_in = part.map(|part| part.built_in).filter(|ohms| ohms.0 > 0.0);
        let resistor = built_in.unwrap_or_else(|| {
            let over = feed.logic.0 - drop.0;
            let ideal = Ohms(over / wanted.0.max(1e-9) - feed.pin.0);
            string.series.at_most(ideal)
        });
        let hurried = string.drive.value == SwitchDrive::SpeedUp && built_in.is_none();
        let base = Self {
            resistor,
            current: Amps(0.0),
            speed_up: part
                .filter(|_| hurried)
                .map(|part| capacitor(speed_up(&part, resistor))),
            built_in: built_in.is_some(),
            drop,
        };
        base.driven_with(feed.logic, feed.pin)
    }

    /// Of a sink: its divider takes what the pin gives.
    pub(super) fn of_sink(sink: &Sink, logic: Volts, pin: Ohms) -> Self {
        Self {
            resistor: sink.divider.upper,
            current: sink.pin(logic, pin),
            speed_up: None,
            built_in: false,
            drop: Volts(0.0),
        }
    }

    /// The same at a pin of these volts and this resistance.
    pub(super) fn driven_with(self, logic: Volts, pin: Ohms) -> Self {
        let over = (logic.0 - self.drop.0).max(0.0);
        let current = Amps(over / (self.resistor.0 + pin.0));
        Self { current, ..self }
    }
}
