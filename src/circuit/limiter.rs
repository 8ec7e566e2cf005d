//! What sets a string's current: a resistor, or a sink.

use serde::Serialize;

use super::sink::Sink;
use super::string::{Feed, Impossible};
use super::transistor::{self, part};
use crate::spec::{LedString, Switch, SwitchDrive};
use crate::units::{Amps, Ohms, Volts};

/// From voltage to current: a drop, then a resistance, and no more than a sink lets through.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub(super) struct Law {
    pub drop: Volts,
    pub resistance: Ohms,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most: Option<Amps>,
}

impl Law {
    pub(super) fn current(self, volts: Volts) -> Amps {
        let free = ((volts.0 - self.drop.0) / self.resistance.0).max(0.0);
        Amps(self.most.map_or(free, |most| free.min(most.0)))
    }
}

/// A resistor that holds less of the voltage than this sets no current (common practice, no source).
const LEAST_SHARE: f64 = 0.05;

/// The part that sets the current, with the switch behind it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Limiter {
    pub resistor: Ohms,
    pub sink: Option<Sink>,
    /// What the pin resists.
    pub pin: Ohms,
    leds: f64,
    /// What the switch drops, and what it resists besides the pin.
    drop: Volts,
    resistance: Ohms,
    /// How often the pin's resistance is in the string's way.
    pins: f64,
}

impl Limiter {
    /// Chooses its value.
    ///
    /// # Errors
    /// When the rail cannot light the string.
    pub(super) fn new(wanted: &LedString, feed: Feed) -> Result<Self, Impossible> {
        // All parallel strings go through the one switch.
        let parallel = f64::from(wanted.parallel.value);
        let on_pin = wanted.switch.value == Switch::Pin;
        let sink = sink(wanted, feed);
        let limiter = Self {
            resistor: sink.map_or(Ohms(0.0), |sink| sink.emitter),
            sink,
            pin: feed.pin,
            leds: f64::from(wanted.leds.value),
            drop: transistor::drop(wanted),
            resistance: Ohms(transistor::resistance(wanted).0 * parallel),
            pins: if on_pin { parallel } else { 0.0 },
        };
        let forward = wanted.forward.value;
        let Law {
            drop, resistance, ..
        } = limiter.law(forward, feed.logic, 0.0);
        // What LEDs and switch leave must be enough to set a current with.
        let (needs, most) = match sink {
            Some(sink) => {
                let current = sink.current(feed.logic, feed.pin, 0.0);
                let emitter = sink.emitter.0 * current.0;
                (Volts(drop.0 + emitter), Volts(feed.volts.0 - emitter))
            }
            None => (
                Volts(drop.0 / (1.0 - LEAST_SHARE)),
                Volts(feed.volts.0 * (1.0 - LEAST_SHARE)),
            ),
        };
        if needs.0 > feed.volts.0 {
            return Err(Impossible {
                needs,
                has: feed.volts,
                fits: ((most.0 - limiter.drop.0) / forward.0).max(0.0) as u32,
            });
        }
        if sink.is_some() {
            return Ok(limiter);
        }
        let ideal = Ohms((feed.volts.0 - drop.0) / wanted.current.value.0 - resistance.0);
        Ok(Self {
            resistor: wanted.series.at_least(ideal),
            ..limiter
        })
    }

    /// The same at a pin that resists so much.
    pub(super) fn at_pin(self, pin: Ohms) -> Self {
        Self { pin, ..self }
    }

    /// With LEDs that drop so much, at a pin of these volts, with its resistor larger by this share.
    pub(super) fn law(&self, forward: Volts, logic: Volts, larger: f64) -> Law {
        Law {
            drop: Volts(self.leds * forward.0 + self.drop.0),
            resistance: Ohms(
                self.resistor.0 * (1.0 + larger) + self.resistance.0 + self.pins * self.pin.0,
            ),
            most: self.sink.map(|sink| sink.current(logic, self.pin, larger)),
        }
    }
}

/// `None`: it is not to be one, or of a part that is not known.
fn sink(wanted: &LedString, feed: Feed) -> Option<Sink> {
    if (wanted.switch.value, wanted.drive.value) != (Switch::Npn, SwitchDrive::Sink) {
        return None;
    }
    let part = part(wanted)?.bipolar()?;
    let current = wanted.current.value;
    Some(Sink::new(
        current,
        &part,
        feed.logic,
        feed.pin,
        wanted.series,
    ))
}
