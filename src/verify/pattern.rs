//! One scene on the chip: every duty against the model, every period of light against the duty,
//! every tick against the clock.

use super::bench::{Bench, Frame, Setup, Start};
use super::latch::LatchLight;
use super::machine::{Access, Edge, Machine, Moment, Period, Pin};
use super::planes::PlaneLight;
use super::waveform::Waveform;
use super::{
    ChannelEvidence, Failure, LightFault, LightSeen, Milliseconds, PatternEvidence, VerifyError,
};
use crate::design::Design;
use crate::drive::Way;
use crate::units::{Duty, Share};

/// Plays a scene for some seconds, on a chip that starts with these contents of its EEPROM.
pub fn play(setup: &Setup, start: &Start, seconds: f64) -> Result<PatternEvidence, VerifyError> {
    let scene = start.scene.unwrap_or(0);
    let design = setup.design;
    let mut bench = setup.power_up(start)?;
    let mut run = Run::new(design, scene);
    let since = bench.seconds();
    let outcome = run.play(setup, &mut bench, since + seconds);
    run.evidence.failure = outcome.err();
    run.evidence.seconds = bench.seconds() - since;
    Ok(run.evidence)
}

struct Run {
    evidence: PatternEvidence,
    lights: Vec<Light>,
    meant: Vec<f64>,
}

impl Run {
    fn new(design: &Design, scene: usize) -> Self {
        Self {
            evidence: PatternEvidence {
                scene: design.deck.image.score.scenes[scene].name.clone(),
                seconds: 0.0,
                ticks: 0,
                failure: None,
                channels: Vec::new(),
                earliest: Milliseconds(0.0),
                latest: Milliseconds(0.0),
                slowest: None,
                planned_slowest: design.plan.drive.pwm().slowest,
            },
            lights: Vec::new(),
            meant: vec![0.0; design.plan.drive.channels().len()],
        }
    }

    /// Until so many seconds of the chip's time have gone by.
    fn play(&mut self, setup: &Setup, bench: &mut Bench, end: f64) -> Result<(), Failure> {
        let design = setup.design;
        // The outputs are turned on after the first tick.
        let first = bench.next_tick()?;
        self.dark_until_now(setup, bench)?;
        bench.watch_light();
        for (channel, output) in setup.outputs.iter().enumerate() {
            let driven = bench.until_driven(output.pin)?;
            let mut light = Light::new(setup, bench, channel, driven);
            light.put(first.begun, first.done, first.duties[channel]);
            self.lights.push(light);
        }
        let second = bench.next_tick()?;
        self.light(setup, bench, &second)?;
        let mut clock = Clock::new(design, &bench.machine, &first);
        let mut duties = second.duties;
        self.evidence.ticks = 2;
        let outcome = loop {
            if bench.seconds() >= end {
                break Ok(());
            }
            match self.tick(setup, bench, &mut clock, &mut duties) {
                Ok(()) => self.evidence.ticks += 1,
                Err(failure) => break Err(failure),
            }
        };
        self.evidence.earliest = Milliseconds(clock.earliest * 1e3);
        self.evidence.latest = Milliseconds(clock.latest * 1e3);
        self.conclude(setup);
        outcome
    }

    fn dark_until_now(&self, setup: &Setup, bench: &mut Bench) -> Result<(), Failure> {
        for channel in 0..setup.outputs.len() {
            if bench.has_put_out(channel) {
                return Err(Failure::LitEarly {
                    channel: setup.design.project.channels[channel].name.value.clone(),
                });
            }
        }
        Ok(())
    }

    fn tick(
        &mut self,
        setup: &Setup,
        bench: &mut Bench,
        clock: &mut Clock,
        duties: &mut Vec<Duty>,
    ) -> Result<(), Failure> {
        let frame = bench.next_tick()?;
        clock.tick(&frame);
        self.light(setup, bench, &frame)?;
        for (meant, duty) in self.meant.iter_mut().zip(&*duties) {
            *meant += f64::from(duty.0);
        }
        *duties = frame.duties;
        Ok(())
    }

    /// The light at the pins up to a tick.
    fn light(&mut self, setup: &Setup, bench: &mut Bench, frame: &Frame) -> Result<(), Failure> {
        let seen = Seen::take(&mut bench.machine);
        for (channel, light) in self.lights.iter_mut().enumerate() {
            let pin = setup.outputs[channel].pin;
            light
                .tick(pin, &seen, frame, frame.duties[channel])
                .map_err(|(at, duty, fault)| Failure::Light {
                    seconds: bench.machine.seconds(at.0),
                    channel: setup.design.project.channels[channel].name.value.clone(),
                    duty,
                    fault,
                })?;
        }
        Ok(())
    }

    fn conclude(&mut self, setup: &Setup) {
        let drive = &setup.design.plan.drive;
        let pwm = drive.pwm();
        let ticks = (self.evidence.ticks - 2).max(1) as f64;
        let names = &setup.design.project.channels;
        for (channel, light) in self.lights.iter().enumerate() {
            let light = light.seen();
            let mean = self.meant[channel] / ticks / 256.0;
            self.evidence.channels.push(ChannelEvidence {
                channel: names[channel].name.value.clone(),
                lit: Share(light.share()),
                meant: Share(mean / f64::from(drive.whole(channel))),
                light,
            });
        }
        let slowest = self
            .evidence
            .channels
            .iter()
            .filter_map(|channel| channel.light.slowest(pwm))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        self.evidence.slowest = slowest;
    }
}

/// What was recorded since it was last asked.
struct Seen {
    periods: Vec<Period>,
    edges: Vec<Edge>,
    writes: Vec<Access>,
}

impl Seen {
    fn take(machine: &mut Machine) -> Self {
        Self {
            periods: machine.take_periods(),
            edges: machine.take_edges(),
            writes: machine.take_accesses(),
        }
    }
}

/// The light of a channel, by its drive.
enum Light {
    Timer(Waveform),
    Port(PlaneLight),
    Latch(LatchLight),
}

impl Light {
    fn new(setup: &Setup, bench: &Bench, channel: usize, driven: Moment) -> Self {
        let output = &setup.outputs[channel];
        let drive = &setup.design.plan.drive;
        let plan = &drive.channels()[channel];
        match (plan.way, drive.timer(), drive.planes()) {
            (Way::Latch, ..) => Self::Latch(LatchLight::new(output.pin, output.active, driven)),
            (Way::Output(_), Some(drive), _) => Self::Timer(Waveform::new(drive, output, driven)),
            (Way::Planes, _, Some((planes, ports))) => {
                let port = ports.iter().find(|port| port.letter == plan.pin.port);
                let port = port.expect("the pin's port is written");
                let register = bench.machine.address_of(&port.register);
                let pin = (output.pin, output.active);
                let register = register.expect("the part has the port that the drive writes");
                Self::Port(PlaneLight::new(planes, register, pin, driven))
            }
            _ => unreachable!("channels go the ways of their drive"),
        }
    }

    fn put(&mut self, begun: Moment, done: Moment, duty: Duty) {
        match self {
            Self::Timer(light) => light.put(begun, done, duty),
            Self::Port(light) => light.put(begun, done, duty),
            Self::Latch(light) => light.put(duty),
        }
    }

    fn tick(
        &mut self,
        pin: Pin,
        seen: &Seen,
        frame: &Frame,
        duty: Duty,
    ) -> Result<(), (Moment, Duty, LightFault)> {
        match self {
            Self::Timer(light) => {
                let own = seen.periods.iter().filter(|period| period.pin == pin);
                light.tick(own.copied(), frame.begun, frame.done, duty)
            }
            Self::Port(light) => {
                let seen = (seen.writes.as_slice(), seen.edges.as_slice());
                light.tick(seen, frame.begun, frame.done, duty)
            }
            Self::Latch(light) => light.tick(&seen.edges, frame.begun, frame.done, duty),
        }
    }

    fn seen(&self) -> LightSeen {
        match self {
            Self::Timer(light) => light.seen(),
            Self::Port(light) => light.seen(),
            Self::Latch(light) => light.seen(),
        }
    }
}

/// When ticks are due.
struct Clock {
    cycle: f64,
    tick: f64,
    first: f64,
    ticks: u64,
    earliest: f64,
    latest: f64,
}

impl Clock {
    fn new(design: &Design, machine: &Machine, first: &Frame) -> Self {
        let cycle = machine.seconds(1);
        Self {
            cycle,
            tick: design.plan.tick.ideal_seconds(),
            first: first.begun.0 as f64 * cycle,
            ticks: 1,
            earliest: 0.0,
            latest: 0.0,
        }
    }

    fn tick(&mut self, frame: &Frame) {
        self.ticks += 1;
        let due = self.first + self.ticks as f64 * self.tick;
        let off = frame.begun.0 as f64 * self.cycle - due;
        self.earliest = self.earliest.min(off);
        self.latest = self.latest.max(off);
    }
}
