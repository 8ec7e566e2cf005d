//! What is measured while a machine runs.

use std::collections::BTreeMap;

use super::moment::Moment;

/// One interrupt's account.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct InterruptMeter {
    pub served: u64,
    /// Cycles from the start of the response, its four cycles included, to the end of RETI; of all
    /// runs together, of the longest and of the shortest. Interrupts within it count as well.
    pub total: u64,
    pub longest: u64,
    pub shortest: u64,
    /// Most cycles from the raising of the flag to the start of the response.
    pub latest: u64,
    /// The flag was raised again before the interrupt was served: an event was lost.
    pub missed: u64,
}

impl InterruptMeter {
    /// Mean cycles from entry to return; `None` if it never ran.
    pub fn mean(&self) -> Option<f64> {
        (self.served > 0).then(|| self.total as f64 / self.served as f64)
    }
}

/// All accounts of a run, since power-up or since they were last cleared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meters {
    /// When the accounts began.
    pub since: Moment,
    /// By vector number.
    pub interrupts: BTreeMap<u8, InterruptMeter>,
    /// Cycles in idle sleep.
    pub asleep: u64,
    /// Cycles in power-down.
    pub powered_down: u64,
    /// How often it powered down, and how often of these with the brown-out detector off.
    pub power_downs: u64,
    pub unwatched: u64,
    /// Cycles that waking from sleep adds to an interrupt's response.
    pub waking: u64,
    /// Cycles in interrupts, from entry to return.
    pub in_interrupts: u64,
    /// Instructions executed.
    pub instructions: u64,
    /// The lowest value the stack pointer had; the lowest byte of the stack is the next one.
    pub lowest_stack: u16,
}

impl Meters {
    pub(super) fn new(since: Moment) -> Self {
        Self {
            since,
            interrupts: BTreeMap::new(),
            asleep: 0,
            powered_down: 0,
            power_downs: 0,
            unwatched: 0,
            waking: 0,
            in_interrupts: 0,
            instructions: 0,
            lowest_stack: u16::MAX,
        }
    }

    pub(super) fn serve(&mut self, vector: u8, latency: u64) {
        let meter = self.interrupts.entry(vector).or_default();
        meter.latest = meter.latest.max(latency);
    }

    pub(super) fn serviced(&mut self, vector: u8, cycles: u64, nested: bool) {
        let meter = self.interrupts.entry(vector).or_default();
        meter.shortest = if meter.served == 0 {
            cycles
        } else {
            meter.shortest.min(cycles)
        };
        meter.longest = meter.longest.max(cycles);
        meter.served += 1;
        meter.total += cycles;
        if !nested {
            self.in_interrupts += cycles;
        }
    }
}
