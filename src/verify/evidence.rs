//! All that was found out about a firmware.

use serde::Serialize;

use super::Firmware;
use super::check::{Check, Limit};
use super::failure::Failure;
use crate::design::Design;
use crate::drive::PwmPlan;
use crate::units::{Bytes, Cycles, Hertz, Share};

/// The evidence for one project.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Evidence {
    pub project: String,
    pub chip: String,
    pub clock: Hertz,
    pub size: SizeEvidence,
    pub patterns: Vec<PatternEvidence>,
    pub timing: Option<TimingEvidence>,
    pub pump: Option<PumpEvidence>,
    pub checks: Vec<Check>,
}

/// What the compiled firmware takes of the chip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SizeEvidence {
    pub flash: Limit<Bytes>,
    /// Variables, without the stack.
    pub ram: Limit<Bytes>,
}

impl Evidence {
    /// The evidence of a compiled firmware before anything has been run.
    pub(super) fn new(design: &Design, firmware: &Firmware) -> Self {
        let chip = design.plan.chip;
        Self {
            project: design.project.name.value.clone(),
            chip: chip.name.clone(),
            clock: design.plan.clock.frequency,
            size: SizeEvidence {
                flash: Limit {
                    found: firmware.flash_use,
                    limit: chip.flash,
                },
                ram: Limit {
                    found: firmware.ram_use,
                    limit: chip.ram.size,
                },
            },
            patterns: Vec::new(),
            timing: None,
            pump: None,
            checks: Vec::new(),
        }
    }

    /// Whether everything that was checked is as it should be.
    pub fn holds(&self) -> bool {
        self.size.flash.holds()
            && self.size.ram.holds()
            && self.patterns.iter().all(PatternEvidence::holds)
            && self.timing.as_ref().is_none_or(TimingEvidence::holds)
            && self.pump.as_ref().is_none_or(PumpEvidence::holds)
            && self.checks.iter().all(Check::holds)
    }
}

/// What was seen of a scene.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PatternEvidence {
    pub scene: String,
    /// For how long it played, in seconds of the chip's time.
    pub seconds: f64,
    /// Ticks in which every channel's duty, and all that is remembered, was the model's.
    pub ticks: u64,
    pub failure: Option<Failure>,
    pub channels: Vec<ChannelEvidence>,
    /// How far a tick was from when it was due, counted from the first one: earliest and latest.
    pub earliest: Milliseconds,
    pub latest: Milliseconds,
    /// The slowest component of the light, and what was planned.
    pub slowest: Option<Hertz>,
    pub planned_slowest: Hertz,
}

impl PatternEvidence {
    /// Whether nothing was wrong.
    pub fn holds(&self) -> bool {
        self.failure.is_none()
            && self
                .slowest
                .is_none_or(|slowest| slowest.0 >= self.planned_slowest.0 * 0.999)
    }
}

/// Milliseconds, later or earlier.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct Milliseconds(pub f64);

/// What was seen of a channel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChannelEvidence {
    pub channel: String,
    /// The share of time for which its pin was lit, and the share that the model's duties mean.
    pub lit: Share,
    pub meant: Share,
    pub light: LightSeen,
}

/// What was seen of a channel's light.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct LightSeen {
    /// Timer periods, and those of them in which the duty was steady.
    pub periods: u64,
    pub steady: u64,
    /// Cycles of all phases whose light was summed and compared with the duty.
    pub cycles_of_phases: u64,
    /// Periods at duty 0: they have neither light nor edges.
    pub dark: u64,
    /// Processor cycles: lit, and in all.
    pub lit: u64,
    pub elapsed: u64,
    /// The longest pattern of periods that repeats itself, in periods.
    pub longest_repeat: u32,
    /// Of the port drive: the most by which a plane was out for longer or shorter than planned, in cycles.
    #[serde(skip_serializing_if = "is_none")]
    pub late: u32,
}

fn is_none(late: &u32) -> bool {
    *late == 0
}

impl LightSeen {
    /// The slowest component of the light that was seen.
    pub fn slowest(&self, pwm: &PwmPlan) -> Option<Hertz> {
        (self.longest_repeat > 0).then(|| Hertz(pwm.frequency.0 / f64::from(self.longest_repeat)))
    }

    /// The share of time for which it was lit.
    pub fn share(&self) -> f64 {
        self.lit as f64 / self.elapsed.max(1) as f64
    }
}

/// What was measured over a long run.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TimingEvidence {
    /// Of the chip's time.
    pub seconds: f64,
    pub ticks: u64,
    pub failure: Option<Failure>,
    /// Ticks a second, and how many the plan has.
    pub rate: Hertz,
    pub planned_rate: Hertz,
    /// The furthest that a tick is from when it was due, in ticks, counted within each stretch of
    /// time in which no scene starts.
    pub drift: f64,
    /// Seconds by which all of it took longer than its ticks should: starts of scenes hold time up
    /// where channels start far on in their programs.
    pub lost: f64,
    pub interrupt: InterruptEvidence,
    /// Share of time in idle sleep.
    pub asleep: Share,
    /// The deepest stack, interrupt included, and the RAM that variables leave it.
    pub stack: Limit<Bytes>,
    /// The longest time from the start of a scene until its first light is out, in seconds, and the
    /// time after which the watchdog would bite.
    pub scene_start: f64,
    pub watchdog: Option<f64>,
    /// What the firmware did that the simulator cannot vouch for.
    pub doubts: Vec<String>,
}

impl TimingEvidence {
    /// Whether nothing was wrong.
    pub fn holds(&self) -> bool {
        self.failure.is_none()
            && self.drift.abs() < 1.0
            && self.interrupt.missed == 0
            && self.stack.holds()
            && self.watchdog.is_none_or(|time| self.scene_start < time)
            && self.doubts.is_empty()
    }
}

/// The PWM interrupt.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct InterruptEvidence {
    pub served: u64,
    /// From entry to return, four cycles of response included.
    pub longest: Cycles,
    pub mean: f64,
    /// Share of the processor's time, waking from sleep included.
    pub share: Share,
    /// The longest it had to wait, and the time there is: one period of the PWM.
    pub latest: Limit<Cycles>,
    /// Overflows that were never served.
    pub missed: u64,
}

/// What was seen of the pins.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PumpEvidence {
    pub failure: Option<Failure>,
    /// Changes of each pin.
    pub edges: u64,
    pub clock: Hertz,
    pub planned: Hertz,
    /// The most by which one pin changes after the other.
    pub apart: Cycles,
    /// For how long both were at the same level, from the first edge on.
    pub alike: Cycles,
    /// The most by which the time between two changes departs from half a period.
    pub jitter: Cycles,
}

impl PumpEvidence {
    /// Whether the pins are complementary, change in the same instant, and at the planned pace.
    pub fn holds(&self) -> bool {
        self.failure.is_none()
            && self.edges > 0
            && self.apart.0 == 0
            && self.alike.0 == 0
            && (self.clock.0 / self.planned.0 - 1.0).abs() < 1e-3
    }
}
