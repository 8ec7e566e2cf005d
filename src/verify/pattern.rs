//! One scene on the chip: every duty against the model, every period of light against the duty,
//! every tick against the clock.

use super::bench::{Bench, Frame, Setup, Start};
use super::machine::Machine;
use super::waveform::Waveform;
use super::{ChannelEvidence, Failure, Milliseconds, PatternEvidence, VerifyError};
use crate::design::Design;
use crate::drive::Drive;
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
    waveforms: Vec<Waveform>,
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
            waveforms: Vec::new(),
            meant: vec![0.0; design.plan.drive.channels().len()],
        }
    }

    /// Until so many seconds of the chip's time have gone by.
    fn play(&mut self, setup: &Setup, bench: &mut Bench, end: f64) -> Result<(), Failure> {
        let design = setup.design;
        // The outputs are turned on after the first tick.
        let first = bench.next_tick()?;
        self.dark_until_now(setup, bench)?;
        bench.watch_periods();
        let Drive::Timer(drive) = &design.plan.drive;
        for (channel, output) in setup.outputs.iter().enumerate() {
            let driven = bench.until_driven(output.pin)?;
            let mut waveform = Waveform::new(drive, output, driven);
            waveform.put(first.begun, first.done, first.duties[channel]);
            self.waveforms.push(waveform);
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
        let periods = bench.machine.take_periods();
        for (channel, waveform) in self.waveforms.iter_mut().enumerate() {
            let pin = setup.outputs[channel].pin;
            let own = periods.iter().filter(|period| period.pin == pin).copied();
            waveform
                .tick(own, frame.begun, frame.done, frame.duties[channel])
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
        let pwm = setup.design.plan.drive.pwm();
        let ticks = (self.evidence.ticks - 2).max(1) as f64;
        let names = &setup.design.project.channels;
        for (channel, waveform) in self.waveforms.iter().enumerate() {
            let light = waveform.seen();
            let mean = self.meant[channel] / ticks / 256.0;
            self.evidence.channels.push(ChannelEvidence {
                channel: names[channel].name.value.clone(),
                lit: Share(light.share()),
                meant: Share(mean / f64::from(pwm.whole)),
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
