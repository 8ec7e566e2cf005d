//! The charge pump's two clock pins.

use super::bench::{Setup, Start};
use super::machine::{Edge, Level, Moment, Pin, Watch};
use super::{PumpEvidence, VerifyError};
use crate::units::{Cycles, Hertz};

/// Watches the pins for some seconds. `None`: there is no pump.
pub fn measure(setup: &Setup, seconds: f64) -> Result<Option<PumpEvidence>, VerifyError> {
    let plan = &setup.design.plan;
    let Some(pump) = plan.drive.pump() else {
        return Ok(None);
    };
    let mut pins = Vec::new();
    for pin in &pump.pins {
        pins.push(pin.pin.to_string().parse::<Pin>()?);
    }
    let mut bench = setup.power_up(&Start::default())?;
    for &pin in &pins {
        let watch = Watch {
            edges: true,
            periods: false,
        };
        bench.machine.watch(pin, watch);
    }
    let together = pump.pins[0].port == pump.pins[1].port;
    let mut pair = Pair::new(u64::from(pump.half.0), together);
    let failure = loop {
        if bench.seconds() >= seconds {
            break None;
        }
        if let Err(failure) = bench.next_tick() {
            break Some(failure);
        }
        let edges = bench.machine.take_edges();
        let (first, second): (Vec<Edge>, Vec<Edge>) =
            edges.into_iter().partition(|edge| edge.pin == pins[0]);
        pair.take(&first, &second);
    };
    Ok(Some(PumpEvidence {
        failure,
        edges: pair.edges,
        clock: Hertz(pair.frequency(plan.clock.frequency.0)),
        planned: pump.clock,
        apart: Cycles(pair.apart as u32),
        alike: Cycles(pair.alike as u32),
        jitter: Cycles(pair.jitter as u32),
    }))
}

/// Both pins, edge by edge.
struct Pair {
    half: u64,
    /// Both become outputs in the same instant: they are of one port.
    together: bool,
    first: Option<Moment>,
    last: Moment,
    edges: u64,
    apart: u64,
    alike: u64,
    jitter: u64,
}

impl Pair {
    fn new(half: u64, together: bool) -> Self {
        Self {
            half,
            together,
            first: None,
            last: Moment(0),
            edges: 0,
            apart: 0,
            alike: 0,
            jitter: 0,
        }
    }

    fn take(&mut self, first: &[Edge], second: &[Edge]) {
        // An edge without its partner counts as a whole half period apart.
        if first.len() != second.len() {
            self.apart = self.half;
        }
        for (a, b) in first.iter().zip(second) {
            let apart = a.at.0.abs_diff(b.at.0);
            if self.edges > 0 || self.together {
                self.apart = self.apart.max(apart);
                self.alike += if is_opposite(a.level, b.level) {
                    apart
                } else {
                    self.half
                };
            }
            // The first edge turns the outputs on, somewhere within a half period.
            if self.edges > 1 {
                self.jitter = self.jitter.max((a.at - self.last).abs_diff(self.half));
            }
            if self.edges > 0 {
                self.first.get_or_insert(a.at);
            }
            self.last = a.at;
            self.edges += 1;
        }
    }

    fn frequency(&self, clock: f64) -> f64 {
        match self.first {
            Some(first) if self.last > first => {
                let halves = (self.edges - 2) as f64;
                halves / 2.0 * clock / (self.last - first) as f64
            }
            _ => 0.0,
        }
    }
}

fn is_opposite(a: Level, b: Level) -> bool {
    matches!(
        (a, b),
        (Level::High, Level::Low) | (Level::Low, Level::High)
    )
}
