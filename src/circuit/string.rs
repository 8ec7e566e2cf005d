//! A string of LEDs: its resistor, what really flows, what gets warm.

use serde::Serialize;

use super::base::Base;
use super::limiter::{Law, Limiter};
use super::preferred::rating;
use super::sink::Sink;
use crate::spec::{LedString, Switch};
use crate::units::{Amps, Ohms, Volts, Watts};

/// What a string hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Feed {
    /// Of the rail, with its load.
    pub volts: Volts,
    /// The least and the most that it may be.
    pub range: [Volts; 2],
    /// Of a pin that drives, next to VCC or ground.
    pub pin: Ohms,
    /// Of the chip, which a pin swings up to.
    pub logic: Volts,
    /// The least and the most that this may be.
    pub logic_range: [Volts; 2],
}

/// A string with its values chosen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct StringDesign {
    pub leds: u32,
    pub parallel: u32,
    /// One in series with each of the parallel strings, or at a sink's emitter.
    pub resistor: Ohms,
    /// Of all LEDs, at nominal.
    pub forward: Volts,
    /// Through each of the parallel strings, while lit.
    pub current: Amps,
    /// With everything at its worst end, either way.
    pub least: Amps,
    pub most: Amps,
    /// In each resistor, at the most current, lit all the time.
    pub heat: Watts,
    /// `None`: no usual resistor can take it.
    pub rating: Option<Watts>,
    pub base: Option<Base>,
    /// `None`: the resistor alone sets the current.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sink: Option<Sink>,
    /// Through the pin, while lit, at the most.
    pub pin: Amps,
    law: Law,
    #[serde(skip)]
    limiter: Limiter,
    /// Of one LED, at nominal.
    #[serde(skip)]
    one: Volts,
}

/// Why a string cannot be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Impossible {
    /// What LEDs and switch need before any current flows.
    pub needs: Volts,
    pub has: Volts,
    /// So many LEDs in series would do.
    pub fits: u32,
}

/// Of a resistor (common practice, no source: 5 % parts).
const RESISTOR_TOLERANCE: f64 = 0.05;
impl StringDesign {
    /// Chooses the values.
    ///
    /// # Errors
    /// When the rail cannot light the string.
    pub fn new(wanted: &LedString, feed: Feed) -> Result<Self, Impossible> {
        let limiter = Limiter::new(wanted, feed)?;
        let nominal = limiter.law(wanted.forward.value, feed.logic, 0.0);
        let (low, high) = wanted.spread;
        let [lowest, highest] = feed.range;
        let [weak, strong] = feed.logic_range;
        let least = limiter.law(high, weak, RESISTOR_TOLERANCE).current(lowest);
        let most = limiter
            .law(low, strong, -RESISTOR_TOLERANCE)
            .current(highest);
        let heat = Watts(most.0 * most.0 * limiter.resistor.0);
        let total = Amps(most.0 * f64::from(wanted.parallel.value));
        let base = (wanted.switch.value == Switch::Npn).then(|| match &limiter.sink {
            Some(sink) => Base::of_sink(sink, feed.logic, feed.pin),
            None => Base::of(wanted, Amps(total.0 / wanted.gain), feed),
        });
        Ok(Self {
            leds: wanted.leds.value,
            parallel: wanted.parallel.value,
            resistor: limiter.resistor,
            forward: Volts(f64::from(wanted.leds.value) * wanted.forward.value.0),
            current: nominal.current(feed.volts),
            least,
            most,
            heat,
            rating: rating(heat),
            base,
            sink: limiter.sink,
            pin: match wanted.switch.value {
                Switch::Npn => base.map_or(Amps(0.0), |base| base.current),
                Switch::Mosfet => Amps(0.0),
                Switch::Pin => total,
            },
            law: nominal,
            limiter,
            one: wanted.forward.value,
        })
    }

    /// What a sink's transistor turns into heat, at these volts; another's is next to nothing.
    pub fn transistor_heat(&self, volts: Volts) -> Option<Watts> {
        let sink = self.sink?;
        let across = volts.0 - self.forward.0 - sink.emitter.0 * self.most.0;
        Some(Watts(across.max(0.0) * self.most.0))
    }

    /// Through all parallel strings together, while lit, when the rail has these volts.
    pub fn at(&self, volts: Volts) -> Amps {
        Amps(self.law.current(volts).0 * f64::from(self.parallel))
    }

    /// The same string on a rail that has these volts.
    pub fn fed_with(self, volts: Volts) -> Self {
        let current = self.law.current(volts);
        Self { current, ..self }
    }

    /// The same string at a chip of these volts, whose pins have this resistance.
    pub fn driven_with(self, logic: Volts, pin: Ohms) -> Self {
        let base = self.base.map(|base| match &self.sink {
            Some(sink) => Base::of_sink(sink, logic, pin),
            None => base.driven_with(logic, pin),
        });
        let limiter = self.limiter.at_pin(pin);
        Self {
            base,
            limiter,
            law: limiter.law(self.one, logic, 0.0),
            ..self
        }
    }

    /// What its pin resists.
    pub fn pin_resistance(&self) -> Ohms {
        self.limiter.pin
    }

    /// What resistor and pin hold at these volts: a change of the rail changes the light by as much
    /// of this.
    pub fn headroom(&self, volts: Volts) -> Volts {
        // A sink's current does not follow the rail.
        if self
            .law
            .most
            .is_some_and(|most| most == self.law.current(volts))
        {
            return Volts(f64::INFINITY);
        }
        Volts((volts.0 - self.law.drop.0).max(0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Span, Spanned};
    use crate::spec::{Rail, Series, SwitchDrive, Transistor};

    fn at<T>(value: T) -> Spanned<T> {
        Spanned::new(value, Span::default())
    }

    pub(super) fn string(leds: u32, forward: f64, milliamps: f64, switch: Switch) -> LedString {
        LedString {
            span: Span::default(),
            leds: at(leds),
            parallel: at(1),
            forward: at(Volts(forward)),
            spread: (Volts(forward), Volts(forward)),
            current: at(Amps(milliamps / 1e3)),
            switch: at(switch),
            saturation: None,
            gain: 20.0,
            on_resistance: None,
            pin_resistance: None,
            transistor: None,
            drive: at(SwitchDrive::Plain),
            capacitance: None,
            colour: None,
            from: at(Rail::Supply),
            series: Series::E12,
        }
    }

    fn feed(volts: f64) -> Feed {
        Feed {
            volts: Volts(volts),
            range: [Volts(volts); 2],
            pin: Ohms(25.0),
            logic: Volts(5.0),
            logic_range: [Volts(5.0); 2],
        }
    }

    /// Worked by hand with Ohm's law.
    #[test]
    fn values_by_hand() {
        // (12 − 3 · 2.0 − 0.2) / 20 mA = 290 → 330 ohm; 5.8 / 330 = 17.6 mA.
        let design = StringDesign::new(&string(3, 2.0, 20.0, Switch::Npn), feed(12.0)).unwrap();
        assert_eq!(design.resistor, Ohms(330.0));
        assert!((design.current.0 - 5.8 / 330.0).abs() < 1e-9);
        // 0.95 of the resistor at the most: 5.8 / 313.5 = 18.5 mA, hence 113 mW: a quarter watt.
        assert!((design.most.0 - 5.8 / 313.5).abs() < 1e-9);
        assert_eq!(design.rating, Some(Watts(0.25)));
        // 18.5 mA / 20 = 0.925 mA; (5 − 0.7) / 0.925 mA − 25 = 4623 → 3.9 kohm.
        let base = design.base.expect("an NPN has a base");
        assert_eq!(base.resistor, Ohms(3900.0));
        // (5 − 2.0) / 10 mA = 300, less the pin's 25: 275 → 330 ohm; 3 / 355 = 8.45 mA.
        let design = StringDesign::new(&string(1, 2.0, 10.0, Switch::Pin), feed(5.0)).unwrap();
        assert_eq!(design.resistor, Ohms(330.0));
        assert!((design.current.0 - 3.0 / 355.0).abs() < 1e-9);
        assert!(design.base.is_none() && design.pin == design.most);
        // (5 − 3.2) / 20 mA = 90, less 0.1 ohm → 100 ohm; E24 has 91.
        let mut wanted = string(1, 3.2, 20.0, Switch::Mosfet);
        assert_eq!(
            StringDesign::new(&wanted, feed(5.0)).unwrap().resistor,
            Ohms(100.0)
        );
        wanted.series = Series::E24;
        assert_eq!(
            StringDesign::new(&wanted, feed(5.0)).unwrap().resistor,
            Ohms(91.0)
        );
    }

    #[test]
    fn what_the_rail_cannot_light_says_how_many_it_can() {
        let fault = StringDesign::new(&string(4, 2.0, 10.0, Switch::Npn), feed(5.0)).unwrap_err();
        assert_eq!(fault.fits, 2);
        let fault = StringDesign::new(&string(1, 3.2, 10.0, Switch::Npn), feed(3.0)).unwrap_err();
        assert_eq!(fault.fits, 0);
    }

    #[test]
    fn the_chosen_current_is_never_above_the_wanted() {
        for tenths in 5..400 {
            let wanted = string(2, 2.1, f64::from(tenths) / 10.0, Switch::Npn);
            let design = StringDesign::new(&wanted, feed(9.0)).unwrap();
            assert!(design.current.0 <= wanted.current.value.0 * (1.0 + 1e-9));
            assert!(design.least <= design.current && design.current <= design.most);
        }
    }

    /// A board that falls is the board that would be there: a Darlington has its two drops at every supply, by
    /// hand (3.3 - 1.4) V / (2.7 + 0.05) kohm, and a pin's string has the pin's resistance.
    #[test]
    fn at_another_supply_it_is_what_it_would_be_there() {
        let at_supply = |volts: f64, pin: f64| Feed {
            logic: Volts(volts),
            pin: Ohms(pin),
            ..feed(12.0)
        };
        let mut wanted = string(3, 2.0, 10.0, Switch::Npn);
        wanted.transistor = Some(at(Transistor::Named("uln2003a".into())));
        let base = |design: StringDesign| design.base.expect("an NPN has a base").current;
        let full = StringDesign::new(&wanted, at_supply(5.0, 25.0)).unwrap();
        let fallen = full.driven_with(Volts(3.3), Ohms(50.0));
        let there = StringDesign::new(&wanted, at_supply(3.3, 50.0)).unwrap();
        assert_eq!(base(fallen), base(there));
        assert!((base(fallen).0 - 1.9 / 2750.0).abs() < 1e-9);
        let on_pin = StringDesign::new(&string(1, 2.0, 10.0, Switch::Pin), feed(5.0)).unwrap();
        let fallen = on_pin.driven_with(Volts(3.0), Ohms(50.0));
        let by_hand = (3.0 - 2.0) / (on_pin.resistor.0 + 50.0);
        assert!((fallen.at(Volts(3.0)).0 - by_hand).abs() < 1e-9);
    }
}
