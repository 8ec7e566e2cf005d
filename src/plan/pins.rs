//! The pins that the firmware drives, and those that nothing hangs on.

use std::collections::BTreeSet;

use super::Plan;
use crate::chip::Pin;
use crate::spec::ClockSource;

impl Plan {
    /// The pins that nothing hangs on.
    pub fn unused_pins(&self) -> impl Iterator<Item = Pin> {
        let clocks = &self.chip.clocks;
        let clocked: &[Pin] = match self.clock.source {
            ClockSource::Internal => &[],
            ClockSource::Crystal => &clocks.crystal_pins,
            ClockSource::External => clocks.external_pin.as_slice(),
        };
        let pump = self.drive.pump().into_iter().flat_map(|pump| &pump.pins);
        let others = self
            .inputs()
            .chain(self.measured())
            .chain(pump)
            .map(|pin| pin.pin);
        let used: BTreeSet<Pin> = (self.drive.channels().iter().map(|channel| channel.pin))
            .chain(others)
            .chain(self.chip.reset)
            .chain(clocked.iter().copied())
            .collect();
        self.chip.pins().filter(move |pin| !used.contains(pin))
    }
}
