//! The firmware left alone for a long time: the interrupt's cost, lost overflows, the pace of ticks,
//! sleep and the stack.

use super::bench::{Bench, Frame, Setup, Start};
use super::machine::{Doubt, Moment};
use super::{Failure, InterruptEvidence, Limit, TimingEvidence, VerifyError};
use crate::plan::Plan;
use crate::units::{Bytes, Cycles, Hertz, Share};

/// Runs the firmware for some seconds as it comes out of the box.
pub fn measure(setup: &Setup, seconds: f64) -> Result<TimingEvidence, VerifyError> {
    let mut bench = setup.power_up(&Start::default())?;
    let mut pace = Pace::new(&setup.design.plan);
    // Overflows before the first tick are nobody's: interrupts are off until there is light.
    let first = bench.next_tick().map(|frame| pace.tick(&bench, &frame));
    let stack = bench.machine.deepest_stack();
    bench.machine.clear_meters();
    let outcome = loop {
        if bench.seconds() >= seconds {
            break Ok(());
        }
        match bench.next_tick() {
            Ok(frame) => pace.tick(&bench, &frame),
            Err(failure) => break Err(failure),
        }
    };
    let stack = stack.max(bench.machine.deepest_stack());
    let failure = first.and(outcome).err();
    Ok(evidence(setup, &bench, &pace, stack, failure))
}

/// Ticks after the start of a scene that come as they may, at least.
const SETTLED: u64 = 8;

/// Ticks after the start of a scene in which the firmware makes up for the time that took: as much as its count
/// spans, half a tick in each.
fn settles(plan: &Plan) -> u64 {
    let lag = plan.counted().0 / plan.tick.seconds();
    SETTLED + 2 * lag.ceil() as u64
}

/// When ticks came.
struct Pace {
    period: f64,
    first: Option<f64>,
    last: f64,
    ticks: u64,
    /// The tick from which on ticks are compared with when they are due, and its time.
    origin: Option<(u64, f64)>,
    /// So many ticks after a start are not compared.
    settles: u64,
    /// No comparison before this tick.
    settled: u64,
    drift: f64,
    scene_start: f64,
}

impl Pace {
    fn new(plan: &Plan) -> Self {
        Self {
            period: plan.tick.seconds(),
            settles: settles(plan),
            first: None,
            last: 0.0,
            ticks: 0,
            origin: None,
            settled: settles(plan),
            drift: 0.0,
            scene_start: 0.0,
        }
    }

    fn tick(&mut self, bench: &Bench, frame: &Frame) {
        let seconds = |moment: Moment| bench.machine.seconds(moment.0);
        self.ticks += 1;
        self.last = seconds(frame.begun);
        self.first.get_or_insert(self.last);
        if let Some(started) = frame.started {
            let took = seconds(frame.done) - seconds(started.at);
            self.scene_start = self.scene_start.max(took);
            self.origin = None;
            self.settled = self.ticks + self.settles;
        }
        if self.ticks < self.settled {
            return;
        }
        let (tick, at) = *self.origin.get_or_insert((self.ticks, self.last));
        let off = (self.last - at) / self.period - (self.ticks - tick) as f64;
        if off.abs() > self.drift.abs() {
            self.drift = off;
        }
    }

    /// Seconds from the first tick to the last.
    fn span(&self) -> f64 {
        self.last - self.first.unwrap_or(self.last)
    }

    /// How much longer that was than so many ticks are: what starts of scenes took.
    fn lost(&self) -> f64 {
        self.span() - (self.ticks.max(1) - 1) as f64 * self.period
    }
}

fn evidence(
    setup: &Setup,
    bench: &Bench,
    pace: &Pace,
    stack: Bytes,
    failure: Option<Failure>,
) -> TimingEvidence {
    let plan = &setup.design.plan;
    let meters = bench.machine.meters();
    let elapsed = (bench.machine.now() - meters.since) as f64;
    let meter = meters
        .interrupts
        .get(&plan.handlers()[0].number)
        .copied()
        .unwrap_or_default();
    let between = (pace.ticks.max(1) - 1) as f64;
    TimingEvidence {
        seconds: bench.seconds(),
        ticks: pace.ticks,
        failure,
        rate: Hertz(between / pace.span().max(f64::MIN_POSITIVE)),
        planned_rate: plan.tick.rate,
        drift: pace.drift,
        lost: pace.lost(),
        interrupt: InterruptEvidence {
            served: meter.served,
            longest: Cycles(meter.longest as u32),
            mean: meter.mean().unwrap_or(0.0),
            share: Share((meters.in_interrupts + meters.waking) as f64 / elapsed),
            latest: Limit {
                found: Cycles(meter.latest as u32),
                limit: plan.drive.patience(),
            },
            missed: meters.interrupts.values().map(|meter| meter.missed).sum(),
        },
        asleep: Share(meters.asleep as f64 / elapsed),
        stack: Limit {
            found: stack,
            limit: Bytes(plan.chip.ram.size.0 - setup.firmware.ram_use.0),
        },
        scene_start: pace.scene_start,
        watchdog: plan
            .watchdog
            .as_ref()
            .map(|watchdog| watchdog.time.seconds()),
        doubts: doubts(setup, bench),
    }
}

/// The doubts that matter. The bench runs at the divided clock from the first cycle on, so that it
/// does not matter that the divider is not simulated.
fn doubts(setup: &Setup, bench: &Bench) -> Vec<String> {
    let divides = setup.design.plan.clock.prescaler_bits.is_some();
    bench
        .machine
        .doubts()
        .iter()
        .map(|doubted| doubted.doubt)
        .filter(|doubt| !(divides && *doubt == Doubt::NotModelled("CLKPR")))
        .map(|doubt| doubt.to_string())
        .collect()
}
