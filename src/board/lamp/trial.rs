//! A string on a channel, the project's or another one, with all that decides its light.

use std::borrow::Cow;

use super::levels::{Droop, Levels};
use super::{LampError, Shown};
use crate::circuit::switch::Switching;
use crate::circuit::{Circuit, Hung, switching};
use crate::design::Design;
use crate::light::cie;
use crate::spec::{LedString, Rail};
use crate::units::{DeltaLightness, Luminance, Share};

pub(super) struct Trial<'a> {
    pub design: &'a Design,
    pub channel: usize,
    pub wanted: Cow<'a, LedString>,
    /// `None`: nothing is known of its part.
    pub switching: Option<Switching>,
    hung: Hung,
    circuit: Cow<'a, Circuit>,
}

impl<'a> Trial<'a> {
    /// With a channel's string as it is. `None`: its rail cannot light it.
    pub(super) fn of_project(
        design: &'a Design,
        channel: usize,
        wanted: &'a LedString,
    ) -> Option<Self> {
        let circuit = Cow::Borrowed(&design.circuit);
        Self::on(design, channel, Cow::Borrowed(wanted), circuit)
    }

    /// With another string. `None`: likewise.
    pub(super) fn new(design: &'a Design, channel: usize, wanted: &LedString) -> Option<Self> {
        let electrics = &design.project.electrics;
        let circuit = design
            .circuit
            .with_string(channel, wanted, electrics, &design.plan)?;
        Self::on(
            design,
            channel,
            Cow::Owned(wanted.clone()),
            Cow::Owned(circuit),
        )
    }

    fn on(
        design: &'a Design,
        channel: usize,
        wanted: Cow<'a, LedString>,
        circuit: Cow<'a, Circuit>,
    ) -> Option<Self> {
        let hung = circuit.strings[channel]?;
        Some(Self {
            design,
            channel,
            switching: switching(&wanted, &hung, circuit.volts),
            wanted,
            hung,
            circuit,
        })
    }

    pub(super) fn is_pumped(&self) -> bool {
        self.hung.rail == Rail::Pump && self.circuit.pump.is_some()
    }

    /// What the LED shows at each level.
    pub(super) fn shown(&self) -> Shown {
        let (levels, droop) = (self.levels(), self.droop());
        let light = |switching: Option<&Switching>| levels.light(switching, droop.as_ref());
        let over = |share| Some(self.switching?.with_storage(Share(share)));
        let stores = over(0.5) != self.switching;
        Shown {
            typical: light(self.switching.as_ref()),
            over_storage: stores.then(|| [0.5, 1.5].map(|share| light(over(share).as_ref()))),
        }
    }

    /// How far that is from what it should be.
    pub(super) fn error_of(&self, shown: &Shown) -> LampError {
        let levels = self.levels();
        let typical = levels.off(&shown.typical);
        let over = shown.over_storage.as_ref();
        LampError {
            typical,
            over_storage: over.map_or([typical; 2], |[half, more]| {
                [half, more].map(|light| levels.off(light))
            }),
        }
    }

    /// What it loses at full light when all else on its pump is lit too. `None`: nothing else is there.
    pub(super) fn crosstalk(&self) -> Option<DeltaLightness> {
        let others = |&(channel, _): &(usize, &Hung)| channel != self.channel;
        if !self.is_pumped() || self.circuit.on_pump().filter(others).count() == 0 {
            return None;
        }
        let full = |channel: usize| self.levels_of(channel).full();
        let alone = self.current(|channel| match channel {
            own if own == self.channel => full(own),
            _ => Share(0.0),
        });
        let together = self.current(full);
        let left = cie::lightness(Luminance(together / alone));
        (alone > 0.0).then_some(DeltaLightness(100.0 - left.0))
    }

    /// What flows through it while it is lit, when channels are on for these shares of the time.
    fn current(&self, shares: impl Fn(usize) -> Share) -> f64 {
        let channels = 0..self.circuit.strings.len();
        let flow = self.circuit.flow(&channels.map(shares).collect::<Vec<_>>());
        let volts = flow.pump.map_or(self.hung.volts, |pump| pump.volts);
        self.hung.string.at(volts).0
    }

    fn levels(&self) -> Levels<'a> {
        self.levels_of(self.channel)
    }

    fn levels_of(&self, channel: usize) -> Levels<'a> {
        Levels {
            design: self.design,
            channel,
        }
    }

    /// How the pump gives way to this string alone. `None`: it is not on a pump.
    fn droop(&self) -> Option<Droop> {
        self.is_pumped().then(|| {
            let full = self.levels().full();
            Droop::new(full, |share| {
                self.current(|channel| match channel {
                    own if own == self.channel => share,
                    _ => Share(0.0),
                })
            })
        })
    }
}
